// The main job on the demo: assembly, hole, run, twelve holes set, three measured, one taken back,
// reload, another device. And the promise of the bench: a loaded page goes on without the network.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { axe, browser, demo, faults, fits, open, sent, shot } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };

/** The numbers of the run as its page says them: `3 of 12 set`. */
const setOf = async (page) => (await page.locator("#where").textContent()).match(/(\d+) of (\d+) set/).slice(1).map(Number);

async function prime(page, served) {
  await page.goto(served.url);
  const done = page.getByRole("button", { name: /^Done: Prime spar, ribs and brackets, Left flap/ });
  await done.click();
  await page.waitForFunction(() => !document.querySelector('[aria-label^="Done: Prime spar, ribs and brackets, Left flap"]'));
}

async function startRun(page, served) {
  await page.goto(new URL("/run/flap-left/doublers", served.url).href);
  // Before the first rivet of a flap: which hand it is.
  await page.getByRole("button", { name: "Left and right are told apart" }).click();
  await page.getByRole("button", { name: "Start the run" }).click();
  await page.waitForURL("**/bench/*");
  await page.getByRole("button", { name: "Right bag" }).click();
  await page.locator("#scrap-width").fill(".18");
  await page.locator("#scrap-height").fill(".06");
  await page.getByRole("button", { name: "Scrap measured" }).click();
}

test("from the demo to set and measured rivets, and all of it there after a reload", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);

  await prime(page, served);
  await axe(page);
  await fits(page);
  await shot(page, "today");

  await page.getByRole("link", { name: "Assemblies" }).click();
  await page.getByRole("link", { name: /Left flap/ }).first().click();
  await axe(page);
  await fits(page);
  await shot(page, "assembly");
  await page.goto(new URL("/hole/flap-left/web/K/1", served.url).href);
  assert.match(await page.locator("main").textContent(), /-4\.5/);
  await axe(page);
  await fits(page);
  await shot(page, "hole");

  await page.goto(new URL("/run/flap-left/doublers", served.url).href);
  assert.match(await page.locator("main").textContent(), /Tape these/);
  await axe(page);
  await fits(page);
  await shot(page, "before-run");
  await startRun(page, served);
  await shot(page, "run");
  await axe(page);
  await fits(page);

  // The first three heads are asked for; a caliper that types ends each reading with Enter.
  for (const width of [".175", ".178", ".176"]) {
    await page.locator("#set").click();
    await page.locator("#width").fill(width);
    await page.keyboard.press("Enter");
    await page.keyboard.type(".058");
    assert.match(await page.locator("#verdict").textContent(), /^Inside the quoted limits checked/);
    if (width === ".178") { await axe(page); await shot(page, "measure-prompt"); }
    await page.keyboard.press("Enter");
  }
  // The rest, without more scrap and with the other heads put off.
  while ((await setOf(page))[0] < 12) {
    if (await page.locator("#measuring").isVisible()) await page.locator("#later").click();
    else if (await page.locator("#scrap").isVisible()) await page.locator("#scrap-skip").click();
    else await page.locator("#set").click();
  }
  if (await page.locator("#measuring").isVisible()) await page.locator("#later").click();
  assert.deepEqual(await setOf(page), [12, 12]);
  assert.ok(await page.getByText("Every hole of this run is set.").isVisible());
  await sent(page);
  await page.locator("#finished").scrollIntoViewIfNeeded();
  await axe(page);

  await page.locator("#undo").dispatchEvent("click");
  await page.waitForFunction(() => !/12 of 12/.test(document.querySelector("#where").textContent));
  const [left] = await setOf(page);
  await sent(page);
  await page.reload();
  assert.deepEqual(await setOf(page), [left, 12], "all is there");
  if (await page.locator("#previous").isVisible() && await page.locator("#previous").isEnabled()) await page.locator("#previous").click();
  assert.equal(await page.locator('.maps [data-state="set-measured"]').count(), 3);

  // The record says it in words, the one taken back included.
  await page.goto(new URL("/record", served.url).href);
  await axe(page);
  await fits(page);
  await shot(page, "record");
  for (const path of ["/standards", "/findings", "/measure", "/assembly/fin?plane=left", "/assembly/tailcone"]) {
    await page.goto(new URL(path, served.url).href);
    await axe(page);
    await fits(page);
    await shot(page, `desk${path.replace(/\W+/g, "-")}`);
  }
});

test("two devices see one another's acts", async (t) => {
  const served = await demo(t);
  const one = await open(t, started, PHONE);
  const other = await open(t, started, PHONE);
  await prime(one, served);
  await startRun(one, served);
  await sent(one);
  await other.goto(one.url());
  await other.waitForFunction(() => document.querySelector("#where")?.textContent.includes("0 of 12"));
  await one.locator("#set").click();
  await other.waitForFunction(() => document.querySelector("#where").textContent.includes("1 of 12"));
  // The pages go before their server does: what they fetch meanwhile is not what this test is about.
  await one.close();
  await other.close();
});

test("without the network the page goes on, and its acts are sent later", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await prime(page, served);
  await startRun(page, served);
  await sent(page);
  await page.context().setOffline(true);
  await page.locator("#set").click();
  await page.locator("#later").click();
  await page.locator("#set").click();
  await page.locator("#later").click();
  // It may say one act for a moment: each is counted when its own sending has failed.
  await page.locator("#waiting", { hasText: "2 acts are waiting" }).waitFor();
  assert.deepEqual(await setOf(page), [2, 12]);
  await page.locator("#set").click();
  await page.locator("#later").click();
  await page.locator("#undo").click();
  assert.deepEqual(await setOf(page), [2, 12], "taken back at once, not when the network is there again");
  await page.context().setOffline(false);
  await sent(page);
  await page.reload();
  await page.waitForFunction(() => document.querySelector("#where").textContent.includes("2 of 12"));
  faults(page).length = 0; // the lost network is what this test is about
});

test("what must stay open is refused, and said", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await prime(page, served);
  await startRun(page, served);
  await sent(page);
  const answers = await page.evaluate(async () => {
    const run = location.pathname.split("/").at(-1);
    const act = { id: Acts.newId(), kind: "set", run, holes: ["flap-left/web/A/1"] };
    const response = await fetch("/acts", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ acts: [act] }) });
    return response.json();
  });
  assert.equal(answers.answers[0].answer, "refused");
  assert.match(answers.answers[0].why, /stays open: rib\/1 shares it/);
});

test("the first head outside the limits stops the run until the setting is proven again", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await prime(page, served);
  await startRun(page, served);
  // What is said of the scrap must not come behind what is said of the head.
  await sent(page);
  await page.locator("#set").click();
  await page.locator("#width").fill(".140");
  await page.locator("#height").fill(".030");
  assert.match(await page.locator("#verdict").textContent(), /^Outside the quoted limits: width under \.163, height under \.050/);
  await page.locator("#keep").click();
  assert.match(await page.locator("#not-right-title").textContent(), /is not right/, "first what becomes of that head");
  await page.getByRole("button", { name: "Nothing" }).click();
  assert.ok(await page.locator("#scrap").isVisible());
  assert.ok(await page.locator("#set").isHidden());
  await page.locator("#says", { hasText: /Stop: .*prove it on scrap again/ }).waitFor();
  await sent(page);
  await page.reload();
  assert.equal(await page.locator('.maps [data-state="fault"]').count(), 1, "drawn as a fault, also after a reload");
});

test("a refusal is shown until somebody has read it, on whatever page", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await page.goto(served.url);
  await page.evaluate(() => { Acts.add({ kind: "open", hole: "flap-left/web/K/1" }); });
  await page.locator("#refused").getByText("flap-left/web/K/1 has no fastener in it").waitFor();
  await page.goto(new URL("/standards", served.url).href);
  await page.locator("#refused").waitFor();
  await axe(page);
  await page.getByRole("button", { name: "Seen" }).click();
  await page.reload();
  assert.equal(await page.locator("#refused").count(), 0);
});

test("a step that waits for others cannot be begun, and says what comes before", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await page.goto(new URL("/run/flap-left/skin-lower", served.url).href);
  await page.getByText("Not yet.").waitFor();
  assert.equal(await page.getByRole("button", { name: "Start the run" }).count(), 0);
  await axe(page);
});

test("a hole is picked on the map by keyboard alone", async (t) => {
  const served = await demo(t);
  const page = await open(t, started);
  await prime(page, served);
  await startRun(page, served);
  const first = page.locator('.maps:not([hidden]) [data-hole][tabindex="0"]');
  assert.equal(await first.count(), 1, "one stop for Tab");
  await first.focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Enter");
  assert.equal(await page.locator("#now-words").textContent(), "as picked");
  const picked = await page.locator("#now-holes").textContent();
  await page.locator("#set").focus();
  await page.keyboard.press("Enter");
  assert.equal(await page.locator("#measuring-title").textContent(), `Measure ${picked}`);
  await axe(page);
});

test("a run of rows that are not drawn has its holes as squares", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await page.goto(new URL("/run/tailcone/frames", served.url).href);
  await page.getByRole("button", { name: "Start the run" }).click();
  await page.waitForURL("**/bench/*");
  if (await page.locator("#bag").isVisible()) await page.locator("#bag-right").click();
  if (await page.locator("#scrap").isVisible()) await page.locator("#scrap-skip").click();
  await axe(page);
  await fits(page);
  const hole = page.locator('.maps:not([hidden]) [data-hole]').nth(1);
  await hole.click();
  assert.equal(await page.locator("#now-words").textContent(), "as picked");
  await page.locator("#set").click();
  assert.equal((await setOf(page))[0], 1);
  await shot(page, "run-not-drawn");
});
