// A fresh builder: an empty folder, a sketch on paper, a phone. Parts and rows are typed in, their
// call-outs seen, a run started, six holes set and three measured, in at most sixty taps and fields.
// Then what row entry promises besides: nothing typed is lost, nobody's change is written over.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { appendFile, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { axe, browser, fits, HOST, open, shot, start, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };
const MOST = 60;

/** A new build, made by the command and served. */
async function fresh(scope) {
  const folder = join(await temporary(scope), "build");
  const made = spawnSync(process.env.FAYING_BIN, ["new", folder], { encoding: "utf8" });
  assert.equal(made.status, 0, made.stderr);
  const served = await start(scope, ["serve", folder, "--port", "0", "--host", HOST]);
  // The first address printed may be that of this machine; the pages are served under the made-up name.
  const url = new URL(served.url);
  url.hostname = HOST;
  return { ...served, folder, url: url.href, plan: join(folder, "plan", "first.toml") };
}

/** Counts what a hand does, and looks that each thing it does it to says what it is. */
function hand() {
  let count = 0;
  const place = async (locator) => {
    await locator.waitFor({ state: "visible" });
    return locator.boundingBox();
  };
  return {
    count: () => count,
    async tap(locator) {
      const box = await place(locator);
      assert.ok(box.height >= 44, `${locator} is ${box.height} px high`);
      assert.notEqual((await locator.innerText()).trim(), "", `${locator} says nothing`);
      await locator.click();
      count += 1;
    },
    async back(page) {
      await page.goBack();
      count += 1;
    },
    async type(locator, text) {
      await place(locator);
      const labels = await locator.evaluate((field) => [...field.labels].filter((it) => it.checkVisibility()).map((it) => it.innerText.trim()));
      assert.ok(labels.length > 0 && labels[0] !== "", `${locator} has no visible label`);
      await locator.fill(text);
      count += 1;
    },
  };
}

const partField = (page) => page.getByLabel("Part: name, thickness, material");
const rowField = (page) => page.getByLabel("Row: how many, length, near part to far part");
const button = (page, name) => page.getByRole("button", { name, exact: true });
const done = (page, text) => page.locator("[data-done]", { hasText: text }).waitFor();

/** Waits until the server itself has so many holes set and so many measured in this run. */
const onServer = (page, set, measured) => page.waitForFunction(async ([set, measured]) => {
  const run = await (await fetch(`${location.pathname}/data`)).json();
  const holes = run.set_ups.flatMap((it) => it.holes);
  return holes.filter((it) => it.set).length === set && holes.filter((it) => it.measured).length === measured;
}, [set, measured]);

async function addPart(page, by, line) {
  await by.type(partField(page), line);
  await by.tap(button(page, "Add part"));
  await done(page, `Part ${line.split(" ")[0]} is in the plan`);
}

async function addRow(page, by, line, name) {
  await by.type(rowField(page), line);
  await by.tap(button(page, "Add row"));
  await done(page, `Row ${name} is in the plan`);
}

test("from an empty folder to set and measured rivets in at most sixty taps and fields", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  const by = hand();
  await page.goto(served.url);
  await by.tap(page.getByRole("link", { name: "Assemblies" }));
  await by.tap(page.locator('a[href="/entry/first"]').first());
  await page.waitForURL("**/entry/first");
  await axe(page);
  await fits(page);

  await addPart(page, by, "web .040 2024-T3");
  await addPart(page, by, "doubler .063 2024-T3");
  await by.type(rowField(page), "12 × -5, doubler to web");
  await page.locator("#preview", { hasText: "-5 stands" }).waitFor();
  assert.match(await page.locator("#preview").innerText(), /Row A: 12 × MS20470AD4-5\s+doubler \.063 in to web \.040 in\s*stack \.103 in/);
  await shot(page, "entry");
  await by.tap(button(page, "Add row"));
  await done(page, "Row A is in the plan");
  await addRow(page, by, "8 x ad4-5 doubler to web", "B");
  await by.type(rowField(page), "6 × -3, doubler to web");
  await page.locator("#preview", { hasText: "-3 is too short; computed -4" }).waitFor();
  await addRow(page, by, "6 × -4, doubler to web", "C");
  // A row that is copied comes back as a line, to be changed or taken as it is.
  await by.tap(page.getByRole("button", { name: "Copy row B" }));
  assert.equal(await rowField(page).inputValue(), "8 × MS20470AD4-5, doubler to web");
  await by.tap(button(page, "Add row"));
  await done(page, "Row D is in the plan");
  await by.tap(button(page, "One step sets all rows"));
  await done(page, "a run can be started");

  // The call-outs.
  const rows = page.locator("ol.rows > li");
  assert.equal(await rows.count(), 4);
  assert.match(await rows.nth(0).innerText(), /-5 stands/);
  assert.match(await rows.nth(2).innerText(), /-4 stands/);
  assert.match(await page.locator('[data-live="findings"]').innerText(), /Nothing found in plan\/first\.toml/);
  await by.tap(page.getByRole("link", { name: "Hole 1 of row A" }));
  await page.waitForURL("**/hole/first/A/1");
  assert.match(await page.locator("main").innerText(), /MS20470AD4-5/);
  await by.back(page);
  await axe(page);
  await fits(page);
  await shot(page, "entry-rows");

  await by.tap(page.locator('[data-live="steps"]').getByRole("link", { name: /Assemble/ }));
  await by.tap(page.getByRole("button", { name: "Start the run" }));
  await page.waitForURL("**/bench/*");
  await by.tap(page.getByRole("button", { name: "Right bag" }));
  await by.type(page.locator("#scrap-width"), ".18");
  await by.type(page.locator("#scrap-height"), ".06");
  await by.tap(page.getByRole("button", { name: "Scrap measured" }));
  for (const [at, width] of [".175", ".178", ".176"].entries()) {
    await by.tap(page.locator("#set"));
    await by.type(page.locator("#width"), width);
    await by.type(page.locator("#height"), ".058");
    await by.tap(page.locator("#keep"));
    await onServer(page, at + 1, at + 1);
  }
  for (let hole = 4; hole <= 6; hole += 1) {
    // One at a time; where only one is due, the big button is it.
    const several = await page.locator("#one").isEnabled();
    await by.tap(page.locator(several ? "#one" : "#set"));
    await onServer(page, hole, 3);
  }
  await page.reload();
  assert.match(await page.locator("#where").textContent(), /6 of 34 set/);
  t.diagnostic(`${by.count()} taps and fields`);
  assert.ok(by.count() <= MOST, `${by.count()} taps and fields`);

  // What `faying new` wrote is all there, and the rows stand under it.
  const plan = await readFile(served.plan, "utf8");
  assert.ok(plan.includes("# Rows: how many, which rivet the plan calls, through which parts."));
  assert.ok(plan.includes('D = { count = 8, called = "MS20470AD4-5", through = ["doubler", "web"] }'));
});

test("what somebody else wrote meanwhile is not written over, and what was typed stays", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  const by = hand();
  // Word of the first part must not come late and let the page look again in between: it is to stay unaware.
  await page.route("**/live", (route) => route.fulfill({ contentType: "text/event-stream", body: ": nothing new\n\n" }));
  await page.goto(new URL("/entry/first", served.url).href);
  const mark = () => document.querySelector("[data-mark]").dataset.mark;
  const before = await page.evaluate(mark);
  await addPart(page, by, "web .040 2024-T3");
  // The page has looked at its own change, and at nothing after it.
  await page.waitForFunction((before) => document.querySelector("[data-mark]").dataset.mark !== before, before);
  // In an editor, at the same moment: the page has not seen it yet.
  const theirs = `${await readFile(served.plan, "utf8")}# mine\n`;
  await writeFile(served.plan, theirs);
  await by.type(partField(page), "doubler .063 2024-T3");
  await by.tap(button(page, "Add part"));
  await page.getByText("plan/first.toml has changed since this page was made").waitFor({ ignoreCase: true });
  assert.equal(await readFile(served.plan, "utf8"), theirs);
  assert.equal(await partField(page).inputValue(), "doubler .063 2024-T3");
  // The page has looked again, so a second tap is meant.
  await by.tap(button(page, "Add part"));
  await done(page, "Part doubler is in the plan");
  assert.ok((await readFile(served.plan, "utf8")).endsWith("# mine\n"));
  // A line half typed survives a reload.
  await rowField(page).fill("26 × -5, doub");
  await page.reload();
  assert.equal(await rowField(page).inputValue(), "26 × -5, doub");
});

test("a wrong line says what to write, and a flush row how its layers are prepared", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  const by = hand();
  await page.goto(new URL("/entry/first", served.url).href);
  for (const line of ["skin .025 2024-T3", "rib .032 2024-T3"]) await addPart(page, by, line);
  await rowField(page).fill("12 AD3-3.5 skin to rip flush");
  await page.locator("#preview", { hasText: "did you mean rib?" }).waitFor();
  await button(page, "Add row").click();
  await page.locator('form[data-kind="add-row"] [data-says]', { hasText: "There is no part" }).waitFor();
  assert.equal(await page.getByLabel("Flush holes").isVisible(), false);
  await rowField(page).fill("12 AD3-3.5 skin to rib flush");
  await page.locator("#preview", { hasText: "skin .025 in, dimpled to rib .032 in, dimpled" }).waitFor();
  await page.getByLabel("Flush holes").selectOption("nested");
  await page.locator("#preview", { hasText: "rib .032 in, countersunk" }).waitFor();
  await page.getByLabel("Flush holes").selectOption("dimpled");
  await by.tap(button(page, "Add row"));
  await done(page, "Row A is in the plan");
  // The next row starts from this one's rivet.
  assert.equal(await page.getByLabel("Usual rivet").inputValue(), "MS20426AD3");
  assert.ok(await page.getByLabel("Flush holes").isVisible());
  await axe(page);

  await by.tap(page.getByRole("button", { name: "Row A: set before the record began" }));
  await page.locator("ol.rows", { hasText: "12 of 12 set" }).waitFor();
  assert.ok(await page.getByRole("button", { name: "Remove row A" }).isDisabled());
});

test("another assembly, the other hand, and a row less", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  const by = hand();
  page.on("dialog", (dialog) => dialog.accept());
  await page.goto(new URL("/entry/first", served.url).href);
  await by.tap(page.getByText("A new assembly"));
  const form = page.locator("form[data-create]", { hasText: "Unit of bare numbers" });
  await by.type(form.getByLabel("Short name"), "flap-left");
  await by.type(form.getByLabel("Name as shown"), "Left flap");
  await form.getByLabel("Unit of bare numbers").selectOption("mm");
  await by.tap(button(page, "Make the assembly"));
  await page.waitForURL("**/entry/flap-left");
  for (const line of ["web 1 2024-T3", "rib 0.8 2024-T3"]) await addPart(page, by, line);
  await addRow(page, by, "6 -4 rib to web", "A");
  await addRow(page, by, "9 -4 rib to web", "B");
  await by.tap(button(page, "One step sets all rows"));
  await done(page, "a run can be started");
  await by.tap(page.getByRole("button", { name: "Remove row A" }));
  await page.waitForFunction(() => document.querySelectorAll("ol.rows > li").length === 1);
  const plan = await readFile(join(served.folder, "plan", "flap-left.toml"), "utf8");
  assert.match(plan, /sets = \["B"\]/);
  assert.match(plan, /web = \{ material = "2024-T3", thickness = 1 \}/);

  await by.tap(page.getByText("Mirror this assembly"));
  assert.equal(await page.getByLabel("Short name of the other hand").inputValue(), "flap-right");
  await by.tap(button(page, "Mirror Left flap"));
  await page.waitForURL("**/assembly/flap-right");
  await page.goto(new URL("/entry/flap-right", served.url).href);
  assert.match(await page.locator("main").innerText(), /This is the other hand of Left flap/);
  await axe(page);
  await fits(page);
});

/** A web of 10 by 4 with nine #40 holes below and five #30 holes above; no header, so no unit. */
function drawing() {
  const lines = ["0", "SECTION", "2", "ENTITIES", "0", "LWPOLYLINE", "8", "CUT", "90", "4", "70", "1"];
  for (const [x, y] of [[0, 0], [10, 0], [10, 4], [0, 4]]) lines.push("10", x, "20", y);
  for (const [radius, y, count] of [[0.049, 0.5, 9], [0.06425, 3.5, 5]]) {
    for (let at = 1; at <= count; at += 1) lines.push("0", "CIRCLE", "8", "HOLES", "10", at, "20", y, "40", radius);
  }
  lines.push("0", "ENDSEC", "0", "EOF");
  return Buffer.from(`${lines.join("\n")}\n`);
}

test("a drawing becomes a plane: what it gives is shown, what it does not say is asked", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  const by = hand();
  await page.goto(new URL("/import/first", served.url).href);
  await page.getByLabel("DXF drawing").setInputFiles({ name: "web.dxf", mimeType: "image/vnd.dxf", buffer: drawing() });
  await page.getByLabel("The drawing does not say its unit").selectOption("in");
  await page.getByText("1 outline of 10 in × 4 in, 0 cut-outs, 14 holes in 2 rows.").waitFor();
  await by.type(page.getByLabel("Part", { exact: true }), "web");
  await by.type(page.getByLabel("Thickness", { exact: true }), ".040");
  await by.type(page.getByLabel("Material", { exact: true }), "2024-T3");
  await by.type(page.getByLabel("Side that is drawn", { exact: true }), "aft");
  await by.type(page.getByLabel("Other side", { exact: true }), "forward");
  await by.type(page.getByLabel("Part on it", { exact: true }), "angle");
  await by.type(page.getByLabel("Its thickness", { exact: true }), ".063");
  await page.getByLabel("Rivet in the #40 holes").selectOption("MS20426AD3");
  await axe(page);
  await fits(page);
  await shot(page, "import");
  // A plan that changes meanwhile is not written over; the answers stay.
  await appendFile(served.plan, "# mine\n");
  await by.tap(button(page, "Write it into the plan"));
  await page.getByText("has changed since this page was made").waitFor();
  assert.equal(await page.getByLabel("Part on it", { exact: true }).inputValue(), "angle");
  await by.tap(button(page, "Write it into the plan"));
  await page.waitForURL("**/assembly/first");
  const plan = await readFile(served.plan, "utf8");
  for (const line of [
    'layers = ["web", "angle"]   # near to far',
    "outline.web = { rect = [0, 0, 10, 4] }",
    "# mine",
  ]) assert.ok(plan.split("\n").includes(line), `${line} is missing:\n${plan}`);
  await page.goto(new URL("/run/first/assemble", served.url).href);
  assert.ok(await page.getByRole("button", { name: "Start the run" }).isVisible());
});
