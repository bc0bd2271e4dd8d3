// A longer look for a better order, before a run: a bar while it goes on, the same on two devices,
// stopped with the best so far, ended by a change, and what is shown at the end is what a start freezes.

import assert from "node:assert/strict";
import { appendFile, cp } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { fileURLToPath } from "node:url";
import { axe, browser, fits, open, serve, shot, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };

/** A web of 400 holes in many stacks; what a test writes goes into a copy. */
const PLAN = fileURLToPath(new URL("./plans/web", import.meta.url));

async function build(t) {
  const folder = join(await temporary(t), "web");
  await cp(PLAN, folder, { recursive: true });
  return serve(t, folder);
}

const button = (page, name) => page.getByRole("button", { name });
const bar = (page) => page.getByRole("progressbar", { name: "Looking for a quicker order" });
const says = (page) => page.locator("#look p.note");

test("two devices see one search; it is stopped, and the start freezes what is shown", async (t) => {
  const served = await build(t);
  const one = await open(t, started, PHONE);
  const other = await open(t, started);
  const address = new URL("/run/web/all", served.url).href;
  await one.goto(address);
  await other.goto(address);
  const box = await button(one, "Look longer, up to 10 s").boundingBox();
  assert.ok(box.height >= 44, `${box.height} px high`);
  await shot(one, "search-offered");
  await button(one, "Look longer, up to 10 s").focus();
  await one.keyboard.press("Enter");
  await bar(one).waitFor();
  await bar(other).waitFor();
  assert.equal(await one.evaluate(() => document.activeElement.textContent), "Stop here");
  await axe(one);
  await fits(one);
  await shot(one, "search-going");
  // It moves by itself, and the focus stays.
  const first = await bar(one).evaluate((it) => it.value);
  await one.waitForFunction((first) => document.getElementById("look-bar")?.value > first, first);
  assert.match(await one.locator("#look-far").innerText(), /^\d+ of 10 s · best so far 1 h \d\d min.* · within .* % of the least there can be$/);
  assert.equal(await one.evaluate(() => document.activeElement.textContent), "Stop here");
  // The other device stops it; both see what became of it.
  await button(other, "Stop here").click();
  for (const page of [one, other]) await says(page).filter({ hasText: /^Stopped after \d+ s: / }).waitFor();
  await axe(one);
  await shot(one, "search-stopped");

  const shown = await one.locator("ol.set-ups > li").evaluateAll((all) => all.map((it) => it.firstElementChild.textContent));
  await button(one, "Start the run").click();
  await one.waitForURL("**/bench/*");
  const run = await one.evaluate(async () => (await fetch(`${location.pathname}/data`)).json());
  assert.deepEqual(run.set_ups.map((it) => it.title), shown);
});

test("a look that runs to its end says what it found, and offers twice the time", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  await page.goto(new URL("/run/web/all", served.url).href);
  // Three seconds instead of ten, so that nobody waits for the rest.
  await button(page, "Look longer").evaluate((it) => { it.form.action = it.form.action.replace("seconds=10", "seconds=3"); });
  await button(page, "Look longer").click();
  await says(page).filter({ hasText: /^Looked for 3 s: (nothing quicker was found|the order below is .* quicker than before)\.$/ }).waitFor();
  await axe(page);
  await fits(page);
  assert.ok(await button(page, "Look longer, up to 10 s").isVisible());
});

test("a plan that changes meanwhile ends the search, which says so; an act elsewhere does not", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  const address = new URL("/run/web/all", served.url).href;
  await page.goto(address);
  await button(page, "Look longer").click();
  await bar(page).waitFor();
  const answers = await page.evaluate(async () => {
    const act = { id: Acts.newId(), kind: "set-before", holes: ["tab/A/1"] };
    const response = await fetch("/acts", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ acts: [act] }) });
    return response.json();
  });
  assert.equal(answers.answers[0].answer, "taken");
  // The page has followed the act, and the search goes on.
  await page.waitForFunction((version) => Number(document.getElementById("main").dataset.version) >= version, answers.version);
  assert.ok(await bar(page).isVisible());

  await appendFile(join(served.folder, "plan", "web.toml"), "# mine\n");
  await says(page).filter({ hasText: /^Something changed that this run rests on, so the search ended after/ }).waitFor();
  await axe(page);
  await fits(page);
  await shot(page, "search-changed");
  assert.ok(await button(page, "Look longer, up to 10 s").isVisible());
  assert.ok(await button(page, "Start the run").isVisible());
});

test("without a script the buttons do the same", async (t) => {
  const served = await build(t);
  const page = await open(t, started, { ...PHONE, javaScriptEnabled: false });
  await page.goto(new URL("/run/web/all", served.url).href);
  await button(page, "Look longer").click();
  await bar(page).waitFor();
  assert.match(page.url(), /\/run\/web\/all#look$/);
  await button(page, "Stop here").click();
  await says(page).filter({ hasText: /^Stopped after/ }).waitFor();
});
