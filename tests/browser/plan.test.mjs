// The Plan page: how every step and gate stands, by mark and word; the path to a gate; what if; batches; what
// stays open and what closes. And a build of 300 steps, on a phone.

import assert from "node:assert/strict";
import { mkdir, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { HOST, acts, axe, browser, daysAgo, demo, fits, open, shot, start, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };
const DESK = { viewport: { width: 1280, height: 800 } };

const main = (page) => page.locator("#main");

async function go(page, served, path) {
  await page.goto(new URL(path, served.url).href);
}

/** What a step's or a gate's line says: its state, and what is left. */
const says = async (page, path) => (await page.locator(`#steps a[href="${path}"]`).first().textContent()).replace(/\s+/g, " ");

/** Both days of the band, and its middle. */
const band = async (page) => (await page.locator("#finish[data-part] #band, #finish #band").first().innerText()).match(/\d{4}-\d\d-\d\d/g);

test("every step and gate says how it stands, and leads to its page", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan");
  assert.match(await says(page, "/step/wing-left/prime-1"), /Ready/);
  assert.match(await says(page, "/step/wing-left/spar"), /Waits for Prime spars, ribs and fittings.*100 to set/);
  assert.match(await says(page, "/gate/wing-left/close"), /Gate: .*Not passed: \d+ things stand against it/);

  await acts(page, [
    { kind: "step-done", step: "wing-left/prime-1", at: daysAgo(3) },
    { kind: "set", holes: ["wing-left/spar/K/1", "wing-left/spar/K/2"] },
    { kind: "step-done", step: "flap-left/prime-1" },
  ]);
  await page.reload();
  assert.match(await says(page, "/step/wing-left/spar"), /Begun, 2 of 100.*98 to set/);
  // Done is folded away, and is there.
  const done = page.locator("#done-of-wing-left");
  assert.equal(await done.evaluate((it) => it.open), false);
  await done.locator("summary", { hasText: "1 step done" }).tap();
  assert.match(await says(page, "/step/wing-left/prime-1"), /Done/);
  assert.equal(await page.locator("#steps .lines.plan > li").count(), 49 + 13, "every step and gate of the demo");
  const marks = await page.locator("#steps .mark svg").count();
  assert.equal(marks, 49 + 13, "a mark for each");

  await page.locator("#finish #band").waitFor();
  await axe(page);
  await fits(page);
  await shot(page, "plan");

  await page.locator('#steps a[href="/step/wing-left/spar"]').tap();
  await page.getByRole("heading", { level: 1, name: /Main spar/ }).waitFor();
});

test("the desk has the drawing in lanes, a phone a column of what is not done", async (t) => {
  const served = await demo(t);
  const desk = await open(t, started, DESK);
  await go(desk, served, "/plan");
  const lanes = desk.locator("#drawing > .drawing svg");
  await lanes.waitFor();
  assert.ok(!(await desk.locator("#column").isVisible()));
  assert.equal(await lanes.locator("[data-step]").count(), 49);
  assert.equal(await lanes.locator("[data-gate]").count(), 13);
  await lanes.locator("a", { hasText: "Dimple spar and ribs" }).first().click();
  await desk.waitForURL("**/step/aileron-left/**");

  const phone = await open(t, started, PHONE);
  await go(phone, served, "/plan");
  assert.ok(!(await phone.locator("#drawing > .drawing").isVisible()));
  await phone.getByText("Drawing of what is not done").tap();
  await phone.locator("#column svg").waitFor();
  await fits(phone);

  const pdf = await phone.evaluate(async () => {
    const response = await fetch("/print/plan.pdf");
    return [response.status, response.headers.get("Content-Type"), (await response.text()).slice(0, 5)];
  });
  assert.deepEqual(pdf, [200, "application/pdf", "%PDF-"]);
});

test("the path to a gate: what comes first, hours on it, only what is not done", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan");
  await page.getByLabel("Path to a gate").selectOption({ value: "flap-left/nose" });
  await page.getByRole("button", { name: "Show the path" }).tap();
  await page.waitForURL("**/plan/to/flap-left/nose");
  const told = async () => (await page.locator("#on-the-way").innerText()).replace(/\s+/g, " ");
  const before = (await told()).match(/(\d+) steps?.*?: ([\d.]+) h of planned work/);
  assert.ok(before, await told());
  assert.ok(await page.locator('#first a[href="/step/flap-left/prime-1"]').isVisible());
  await axe(page);
  await fits(page);
  await shot(page, "plan-path");

  // 3.5 h of priming done: one step and its hours less on the way, and the next one comes first.
  await acts(page, [{ kind: "step-done", step: "flap-left/prime-1", at: daysAgo(3) }]);
  await page.reload();
  const later = (await told()).match(/(\d+) steps?.*?: ([\d.]+) h of planned work/);
  assert.equal(Number(before[1]) - Number(later[1]), 1);
  // Hours above forty are told whole.
  assert.ok(Math.abs(Number(before[2]) - Number(later[2]) - 3.5) <= 0.5, `${before[2]} h, then ${later[2]} h`);
  assert.ok(await page.locator('#first a[href="/step/flap-left/doublers"]').isVisible());
  assert.equal(await page.locator('.drawing [data-step*="flap-left/prime-1"]').count(), 0);
});

test("more hours a week bring the band nearer, and a batch is told", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan");
  const own = await band(page);
  assert.equal(own.length, 3);
  assert.match(await page.locator("#from").innerText(), /no step finished with hours yet: the plan's hours are taken as they are/);
  await page.getByLabel("What if it were so many hours a week").fill("20");
  await page.getByRole("button", { name: "Reckon with them" }).tap();
  await page.waitForURL("**/plan?week=20**");
  await page.locator("#band", { hasText: "With 20 h a week" }).waitFor();
  const more = await band(page);
  assert.ok(more.every((day, n) => day < own[n]), `${own} with the own week, ${more} with 20 h`);
  await page.getByText(/^Working order: \d+ turns/).tap();
  assert.match(await page.locator("#order li").first().innerText(), /\d{4}-\d\d-\d\d/);
  await axe(page);

  const batches = page.locator("#batches");
  assert.match(await batches.innerText(), /Can join the next batch now:/);
  assert.ok(await batches.locator('a[href="/step/flap-left/prime-1"]').isVisible());
  assert.match(await batches.innerText(), /Could be brought forward; each that joins a batch saves [\d.]+ h[^]*Left aileron: Prime spar, ribs and brackets\s+First: Left aileron: Dimple spar and ribs/);

  await go(page, served, "/plan?week=ten");
  await page.locator("#week-refused", { hasText: "\"ten\" is no number of hours" }).waitFor();
});

test("without a script the parts of the page are pages", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, { ...PHONE, javaScriptEnabled: false });
  await go(page, served, "/plan");
  await page.getByText("When it will be finished, and the order of the rest").tap();
  await page.waitForURL("**/plan/finish");
  assert.equal((await band(page)).length, 3);
  await go(page, served, "/plan");
  await page.getByText("Drawing of what is not done").tap();
  await page.getByText("To the drawing").last().tap();
  await page.waitForURL("**/plan/drawing?as=column");
  assert.equal(await page.locator("#drawn [data-step]").count(), 49);
});

test("what stays open and what closes, in the whole build", async (t) => {
  const served = await demo(t);
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan/open");
  assert.match(await main(page).innerText(), /Left flap: Lower skin and trailing edge\s+Hides: /);
  await page.locator("#open-flap-left-ribs > summary").tap();
  assert.match(await page.locator("#open-flap-left-ribs").innerText(), /flap-left\/web\/\w+, holes? /);
  await axe(page);
  await fits(page);
  await shot(page, "plan-open");
});

test("a changed plan is adopted by a button of its own", async (t) => {
  const { folder, served } = await written(t, { "plan/tab.toml": TAB });
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan");
  assert.equal(await page.locator("#adopt").count(), 0);
  await acts(page, [{ kind: "set-before", holes: ["tab/K/1"] }]);
  await writeFile(join(folder, "plan/tab.toml"), TAB.replace("AD4-4", "AD4-5"));
  await page.reload();
  await page.locator("#changed-plan", { hasText: "The plan has changed since revision 1" }).waitFor();
  await axe(page);
  await shot(page, "plan-changed");
  await page.getByRole("button", { name: "Adopt revision 2 now" }).tap();
  await page.waitForFunction(() => !document.getElementById("adopt"));
  assert.match(await page.locator("footer.block").innerText(), /revision 2/);
  await go(page, served, "/owed");
  assert.match(await main(page).innerText(), /tab\/K/);
});

test("gates of the whole build are written by the practice of a country", async (t) => {
  const { served } = await written(t, { "plan/tab.toml": TAB });
  const page = await open(t, started, { ...PHONE, javaScriptEnabled: false });
  await go(page, served, "/plan");
  assert.match(await page.locator("#start-gates").innerText(), /The authority's own rule decides/);
  await page.getByLabel("Whose practice").selectOption({ index: 1 });
  await page.getByRole("button", { name: "Write gates.toml" }).tap();
  await page.waitForURL("**/plan#gates");
  assert.ok(await page.locator("#gates", { hasText: "The whole build" }).isVisible());
  assert.equal(await page.locator("#start-gates").count(), 0);
});

test("300 steps: every one is there, and the page is no wider than the phone", async (t) => {
  const files = Object.fromEntries(Array.from({ length: 10 }, (_, n) => [`plan/section-${n}.toml`, section(n)]));
  const { served } = await written(t, files);
  const page = await open(t, started, PHONE);
  await go(page, served, "/plan");
  assert.equal(await page.locator('#steps a[href^="/step/"]').count(), 300);
  assert.match(await page.locator(".tally").innerText(), /0 of 300/);
  await page.locator("#finish #band").waitFor();
  await axe(page);
  await fits(page);
  await shot(page, "plan-300");
  // The last assembly is one tap away.
  await page.locator('#steps .contents a[href="#of-section-9"]').tap();
  assert.ok(await page.locator("#of-section-9").isVisible());
  await go(page, served, "/plan/to/section-9/close");
  assert.match(await page.locator("#on-the-way").innerText(), /29 steps/);
  await fits(page);
});

const TAB = `format = 1
id = "tab"
title = "Trim tab"
[rows]
K = { count = 3, called = "MS20470AD4-4" }
[steps.one]
hours = 1
sets = ["K"]
[steps.two]
hours = 2
after = ["one"]
`;

/** Thirty steps in a chain of threes, with a gate before the last. */
function section(number) {
  const step = (n) => `[steps.s${n}]\ntitle = "Step ${n} of this section"\nhours = ${1 + (n % 4)}\n${n === 0 ? "" : `after = ["s${Math.max(0, n - 1 - (n % 3))}"]\n`}${n % 10 === 1 ? 'work = "prime"\ncure = 24\n' : ""}`;
  const steps = Array.from({ length: 29 }, (_, n) => step(n));
  const all = Array.from({ length: 29 }, (_, n) => `"s${n}"`).join(", ");
  return `format = 1\nid = "section-${number}"\ntitle = "Section ${number}"\n${steps.join("")}[steps.last]\nafter = [${all}]\n[gates.close]\nbefore = "last"\n`;
}

/** A build of these files, served. */
async function written(scope, files) {
  const folder = join(await temporary(scope), "build");
  await rm(folder, { recursive: true, force: true });
  await mkdir(join(folder, "plan"), { recursive: true });
  for (const [name, text] of Object.entries(files)) await writeFile(join(folder, name), text);
  const served = await start(scope, ["serve", folder, "--port", "0", "--host", HOST]);
  const url = new URL(served.url);
  url.hostname = HOST;
  return { folder, served: { ...served, url: url.href } };
}
