// One run of sixty holes as a new user drives it with a thumb: two set-ups, an interruption, one
// reject, one tool that is not at hand. At most fifty taps. What the caliper types is no tap: it
// sends its reading and Enter, as calipers that act as a keyboard do.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { fileURLToPath } from "node:url";
import { axe, browser, fits, open, serve, shot } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };
const PLAN = fileURLToPath(new URL("./plans/spar", import.meta.url));

/** A thumb reaches the lower two thirds of a phone that is held in one hand. */
const REACH = 740 / 3;

test("sixty holes, two set-ups, an interruption, a reject and a missing tool in at most fifty taps", async (t) => {
  const served = await serve(t, PLAN);
  const page = await open(t, started, PHONE);
  let taps = 0;
  const tap = async (what) => {
    await what.waitFor({ state: "visible" });
    // Scrolled down to the thumb, where the page is long enough for that.
    await what.evaluate((element) => element.scrollIntoView({ block: "end" }));
    const box = await what.boundingBox();
    assert.ok(box.y + box.height / 2 > REACH, `${await what.textContent()} is out of the thumb's reach, at ${Math.round(box.y)} px`);
    assert.ok(box.height >= 44, `${await what.textContent()} is ${box.height} px high`);
    await what.tap();
    taps += 1;
  };
  const button = (name) => page.getByRole("button", { name }).filter({ visible: true });
  const types = async (...readings) => {
    for (const reading of readings) { await page.keyboard.type(reading); await page.keyboard.press("Enter"); }
  };
  const setOf = async () => Number((await page.locator("#where").textContent()).match(/(\d+) of 60 set/)[1]);
  const sent = () => page.waitForFunction(async () => (await Acts.waiting()).length === 0);

  await page.goto(new URL("/run/spar/all", served.url).href);
  await axe(page);
  await fits(page);
  await shot(page, "sixty-before");
  await tap(button("Start the run"));
  await page.waitForURL("**/bench/*");
  const runAddress = page.url();

  let rejected = false;
  let interrupted = false;
  let toolGone = false;
  const pictures = new Set();
  const picture = async (name) => {
    if (pictures.has(name)) return;
    pictures.add(name);
    await axe(page);
    await fits(page);
    await shot(page, `sixty-${name}`);
  };
  for (let turn = 0; turn < 80 && !(await page.locator("#finished").isVisible()); turn += 1) {
    if (await page.locator("#bag").isVisible()) {
      await picture("bag");
      await tap(button("Right bag"));
    } else if (await page.locator("#scrap").isVisible()) {
      await picture("scrap");
      // After a tap the field has the focus already; after a reject it has it too.
      await page.waitForFunction(() => document.activeElement?.id === "scrap-width");
      await types(".183", ".060");
    } else if (await page.locator("#measuring").isVisible()) {
      await picture("measuring");
      if (!rejected && (await setOf()) > 20) {
        rejected = true;
        await types(".140", ".030");
        await page.getByText("Stop:").waitFor();
        await shot(page, "sixty-reject");
        // The head that was rejected comes out at once; its hole is set anew after a new proof.
        await page.waitForFunction(() => document.activeElement?.id === "why");
        await tap(button("Drilled out"));
      } else await types(".182", ".060");
    } else {
      await picture("work");
      const set = await setOf();
      if (!interrupted && set > 10) {
        // The phone is put away in the middle; Today leads back.
        interrupted = true;
        await sent();
        await page.goto(served.url);
        await tap(page.getByRole("link", { name: /^Go on: / }));
        await page.waitForURL(runAddress);
        assert.equal(await setOf(), set, "the run goes on where it was left");
      } else if (!toolGone && set > 40) {
        toolGone = true;
        await sent();
        await tap(page.locator("#more summary"));
        await shot(page, "sixty-more");
        await Promise.all([page.waitForEvent("load"), tap(page.locator("[data-without]").nth(1))]);
      } else await tap(page.locator("#set"));
    }
  }
  assert.ok(rejected && interrupted && toolGone, "the run had everything in it");
  await tap(button("End the run"));
  await page.waitForURL(served.url);
  t.diagnostic(`${taps} taps for sixty holes`);
  assert.ok(taps <= 50, `${taps} taps`);

  await page.goto(new URL("/record", served.url).href);
  await page.getByText("put in order anew").waitFor();
  await axe(page);
  await fits(page);
  await shot(page, "sixty-record");
});
