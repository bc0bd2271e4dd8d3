// The rivet that does not look right: from the measurement to the decision, at a phone's width, in few taps; what
// the verdict rests on stands beside it; what is replaced is measured; what shares the fault is looked at.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { acts, axe, browser, daysAgo, demo, fits, open, row, sent, shot } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };
/** Taps and fields that a common case may take, from the page of its hole. */
const MOST = 12;

const main = (page) => page.locator("#main");

/** The demo with the doublers of the flap riveted and one flush row, on a phone. */
async function bench(t) {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  const go = (path) => page.goto(new URL(path, served.url).href);
  await go("/owed");
  await acts(page, [
    { kind: "step-done", step: "flap-left/prime-1", at: daysAgo(9) },
    { kind: "looked", need: "hands", place: "flap-left" },
    { kind: "set", holes: row("flap-left/web/K", 6) },
    { kind: "set-before", holes: [...row("flap-left/web/D", 4), ...row("flap-left/upper/A", 6)], note: "before the record" },
  ]);
  return { served, page, go };
}

/** Hands that count what they do. */
function hands(page) {
  let count = 0;
  return {
    get count() { return count; },
    async tap(where) { count += 1; await where.click(); },
    async type(where, text) { count += 1; await where.fill(text); },
    async choose(where, value) { count += 1; await where.selectOption(value); },
  };
}

/** From the page of a hole to what is examined there. */
async function look(page, hand, title) {
  await hand.tap(page.locator("#fault > summary"));
  await hand.tap(page.getByRole("link", { name: title, exact: true }));
  await page.waitForURL(/\/examine\//);
}

async function record(page, hand) {
  await hand.tap(page.locator("#record button"));
  await page.waitForURL(/\/fault\//);
  await sent(page);
}

/** From the page of a head to its measurement. */
async function measure(page, hand, width, height) {
  await hand.tap(page.getByRole("link", { name: "Look at what the limits say first" }));
  await page.waitForURL(/\/measure/);
  await hand.type(page.getByLabel("Width, in", { exact: true }), width);
  await hand.type(page.getByLabel("Height, in", { exact: true }), height);
  await page.locator("#record button").waitFor();
}

/** A rule, where it stands and a working are on the page. */
async function restsOn(page, rule) {
  const says = page.locator("section[aria-label='What the rules say']");
  // Where none rules, what the first says stands open all the same.
  const ruling = (await says.locator("li.rules").count()) ? says.locator("li.rules") : says.locator("ul.rulings > li").first();
  assert.match(await ruling.locator("b").first().textContent(), rule);
  assert.notEqual((await ruling.locator("small").last().textContent()).trim(), "", "the source of the rule");
  assert.ok((await says.locator("details.working dt").count()) > 0, "a working");
}

async function decide(page, hand, what) {
  await hand.type(page.getByLabel("What was decided"), what);
  await hand.type(page.getByLabel("By whom"), "The kit's designer");
  const role = page.locator("form:has(textarea[name=what]) select[name=role]");
  if ((await role.inputValue()) === "") await hand.choose(role, "designer");
  await hand.tap(page.getByRole("button", { name: /^Write the decision down/ }));
  await page.getByText("decided", { exact: true }).waitFor();
  await sent(page);
}

const few = (hand, name) => {
  assert.ok(hand.count <= MOST, `${name}: ${hand.count} taps and fields`);
  console.log(`  ${name}: ${hand.count} taps and fields`);
};

test("a small head inside the limits: the gauge of the thumb rule turns it down, the specification does not", async (t) => {
  const { page, go } = await bench(t);
  await go("/hole/flap-left/web/K/1");
  const hand = hands(page);
  await measure(page, hand, ".175", ".058");
  assert.match(await page.locator("#says").textContent(), /would turn it down/);
  await hand.tap(page.locator("#record button"));
  await sent(page);
  await page.getByRole("button", { name: "Recorded" }).waitFor();
  few(hand, "small head");
  await go("/hole/flap-left/web/K/1");
  assert.match(await main(page).textContent(), /inside the quoted limits checked/);
});

test("a tall head: squeezed on within its band, measured anew, over", async (t) => {
  const { page, go } = await bench(t);
  await go("/hole/flap-left/web/K/4");
  const hand = hands(page);
  await measure(page, hand, ".150", ".080");
  await record(page, hand);
  await restsOn(page, /MIL-R-47196A/);
  assert.match(await page.locator("p.big").textContent(), /between \.050 and \.067/);
  await axe(page);
  await fits(page);
  await shot(page, "fault-head-360");
  const fault = page.url();
  await hand.tap(page.getByRole("link", { name: "Measure it anew" }));
  await hand.type(page.getByLabel("Width, in", { exact: true }), ".170");
  await hand.type(page.getByLabel("Height, in", { exact: true }), ".062");
  await hand.tap(page.locator("#record button"));
  await page.getByRole("button", { name: "Recorded" }).waitFor();
  await sent(page);
  few(hand, "tall head");
  await page.goto(fault);
  assert.match(await page.locator("h1").textContent(), /over/);
});

test("an overdriven flush head: no squeeze brings it back; the designer's word ends it", async (t) => {
  const { page, go } = await bench(t);
  await go("/hole/flap-left/upper/A/2");
  const hand = hands(page);
  await measure(page, hand, ".170", ".028");
  await record(page, hand);
  await restsOn(page, /MIL-R-47196A/);
  assert.equal(await page.getByRole("heading", { name: "Squeeze it again" }).count(), 0);
  assert.equal(await page.getByRole("heading", { name: "Replace it like for like" }).count(), 1);
  await decide(page, hand, "leave it, heads of this row are not in the load path");
  few(hand, "overdriven flush head");
});

test("the wrong length along a row: one act, the tail as computed, a decision", async (t) => {
  const { page, go } = await bench(t);
  await go("/hole/flap-left/web/K/2");
  const hand = hands(page);
  await look(page, hand, "Wrong length went in");
  await axe(page);
  await hand.type(page.getByLabel(/^What went in/), "-3.5");
  await hand.type(page.getByLabel(/^Other holes of row K/), "3, 5-6");
  await page.getByText("too short", { exact: false }).first().waitFor();
  await record(page, hand);
  await restsOn(page, /MIL-R-47196A/);
  assert.match(await page.locator("h1").textContent(), /K-2 and 3 more/);
  await decide(page, hand, "replace them with -4.5");
  few(hand, "wrong length along a row");
});

test("a figure-eight hole, a short edge distance, a crescent on a bracket's head", async (t) => {
  const { page, go } = await bench(t);
  for (const [name, hole, title, field, value, rule, decision] of [
    ["figure-eight hole", "flap-left/web/H/1", "Figure-eight hole", "Across its length, in", ".160", /drill and its tolerance/, "next size, MS20470AD5, in this hole only"],
    ["short edge distance", "flap-left/web/A/1", "Edge distance", "Rim of the hole to the edge, in", ".11", /AC 43\.13-1B/, "leave it; no doubler at this rib"],
    ["crescent on a bracket's head", "flap-left/web/D/2", "Crescent mark on the manufactured head", "Depth of the mark, in", ".02", /MIL-STD-403C/, "replace it, the bracket is loaded"],
  ]) {
    await go(`/hole/${hole}`);
    const hand = hands(page);
    await look(page, hand, title);
    await hand.type(page.getByLabel(field), value);
    await page.locator("#says li.rules").waitFor();
    await record(page, hand);
    await restsOn(page, rule);
    await fits(page);
    await shot(page, `fault-${title.split(" ")[0].toLowerCase()}-360`);
    await decide(page, hand, decision);
    few(hand, name);
  }
});

test("a mark inside its rule is written down and waits for nobody", async (t) => {
  const { page, go } = await bench(t);
  await go("/hole/flap-left/web/D/3");
  const hand = hands(page);
  await look(page, hand, "Crescent mark on the manufactured head");
  await hand.type(page.getByLabel("Depth of the mark, in"), ".010");
  await page.locator("#says li.rules").waitFor();
  await record(page, hand);
  assert.match(await main(page).textContent(), /Nothing waits for a decision here/);
  await go("/owed");
  assert.equal(await page.getByText("Crescent mark").count(), 0);
});

test("a caliper with a cable goes from field to field and ends on the act, which records what was typed last", async (t) => {
  const { page, go } = await bench(t);
  await go("/examine/countersink?of=flap-left/upper/A/3");
  await page.getByLabel("Width, in", { exact: true }).focus();
  await page.keyboard.type(".181");
  await page.keyboard.press("Enter");
  assert.equal(await page.evaluate(() => document.activeElement.name), "depth");
  await page.keyboard.type(".036");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.activeElement.closest("#record"));
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/fault\//);
  await sent(page);
  assert.match(await page.locator("dl.facts").first().textContent(), /Width\.181 inDepth\.036 in/);
});

test("the question to the designer is one page, and what was asked stays open until it is answered", async (t) => {
  const { served, page, go } = await bench(t);
  await acts(page, [{ kind: "examine", holes: ["flap-left/web/A/1"], aspect: "edge", rim: ".11" }]);
  await go("/owed");
  await page.locator("a[href^='/fault/']").first().click();
  await page.waitForURL(/\/fault\//);
  for (const name of ["The question, A4", "Letter"]) {
    const address = await page.getByRole("link", { name }).getAttribute("href");
    // The browser alone knows the made-up name.
    const { status, bytes } = await page.evaluate(async (address) => {
      const answer = await fetch(address);
      return { status: answer.status, bytes: Array.from(new Uint8Array(await answer.arrayBuffer())) };
    }, new URL(address, served.url).href);
    assert.equal(status, 200);
    const text = Buffer.from(bytes).toString("latin1");
    assert.ok(text.startsWith("%PDF"));
    assert.equal(text.match(/\/Type\s*\/Page\b/g)?.length, 1, "one page");
  }
  await page.locator("#asked > summary").click();
  await page.locator("#asked input[name=who]").fill("The kit's designer");
  await page.locator("#asked select[name=role]").selectOption("designer");
  await page.getByRole("button", { name: "Write down that it was asked" }).click();
  await page.getByText("was asked", { exact: false }).first().waitFor();
  await sent(page);
  await go("/owed");
  assert.match(await main(page).textContent(), /The kit's designer was asked on/);
});

test("replaced like for like: out, the hole read, the new one set, its head measured; until then the gate asks", async (t) => {
  const { page, go } = await bench(t);
  await acts(page, [{ kind: "measure", hole: "flap-left/web/K/4", width: ".150", height: ".045" }]);
  await go("/hole/flap-left/web/K/4");
  await page.getByRole("link", { name: "What can be done" }).click();
  await page.waitForURL(/\/fault\//);
  await page.getByRole("link", { name: "Replace it, step by step" }).click();
  await page.waitForURL(/\/replace\//);
  await axe(page);
  await fits(page);
  await shot(page, "replace-360");
  const current = page.locator("ol.stages > li[aria-current=step]");
  assert.match(await current.textContent(), /eye protection/i);
  await page.getByLabel("Why", { exact: true }).fill("overdriven");
  await page.getByRole("button", { name: "It is out" }).click();
  await page.getByLabel("Diameter, in").fill(".130");
  await page.getByRole("button", { name: "Record it" }).click();
  await current.getByText("inside", { exact: false }).first().waitFor();
  await page.getByRole("button", { name: "It is set" }).click();
  await page.getByRole("link", { name: "Measure it", exact: true }).waitFor();
  await sent(page);
  await go("/gate/flap-left/nose");
  assert.match(await main(page).textContent(), /took the place of another and its head is not measured/);
  await go("/replace/flap-left/web/K/4");
  await page.getByRole("link", { name: "Measure it", exact: true }).click();
  await page.getByLabel("Width, in", { exact: true }).fill(".185");
  await page.getByLabel("Height, in", { exact: true }).fill(".058");
  await page.locator("#record button").click();
  await page.getByRole("button", { name: "Recorded" }).waitFor();
  await sent(page);
  await go("/replace/flap-left/web/K/4");
  assert.match(await main(page).textContent(), /It is replaced/);
  await go("/gate/flap-left/nose");
  assert.doesNotMatch(await main(page).textContent(), /took the place of another/);
});

test("others that share a reject's length are named and put down to be looked at in one tap", async (t) => {
  const { page, go } = await bench(t);
  await acts(page, [
    { kind: "measure", hole: "flap-left/web/K/1", width: ".175", height: ".058" },
    { kind: "measure", hole: "flap-left/web/K/4", width: ".150", height: ".045" },
  ]);
  await go("/hole/flap-left/web/K/4");
  await page.getByRole("link", { name: "What can be done" }).click();
  await page.waitForURL(/\/fault\//);
  const shared = page.locator("ul.shared > li").first();
  assert.match(await shared.textContent(), /4 others: K-2, K-3, K-5, K-6/);
  assert.match(await shared.textContent(), /Last good: K-1/);
  await shared.getByRole("button").click();
  await sent(page);
  await go("/owed");
  assert.match(await main(page).textContent(), /Look at them again/);
});

for (const [width, height] of [[360, 740], [1280, 800]]) {
  for (const colorScheme of ["light", "dark"]) {
    test(`pages of a fault at ${width} px, ${colorScheme}`, async (t) => {
      const served = await demo(t);
      const page = await open(t, started, { viewport: { width, height }, colorScheme });
      const go = (path) => page.goto(new URL(path, served.url).href);
      await go("/owed");
      await acts(page, [
        { kind: "set-before", holes: row("flap-left/web/K", 6) },
        { kind: "examine", holes: ["flap-left/web/K/2"], aspect: "cracks", count: "2", inside: "no", meet: "yes" },
      ]);
      await go("/owed");
      await page.locator("a[href^='/fault/']").first().click();
      await page.waitForURL(/\/fault\//);
      for (const [name, path] of [["fault", page.url()], ["examine", "/examine/cracks?of=flap-left/web/K/3"], ["replace", "/replace/flap-left/web/K/2"]]) {
        await go(path);
        await axe(page);
        await fits(page);
        await shot(page, `${name}-${width}-${colorScheme}`);
      }
    });
  }
}
