// Charts: heads by setting against their limits, what was drilled out, and a caliper's ten readings.
// What a chart shows stands in words and in a table as well; nothing scrolls sideways on a phone.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { HOST, acts, axe, browser, fits, open, shot, start, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };

const SPAR = `format = 1
id = "spar"
title = "Spar"
[usual]
rivet = "MS20470AD4"
head = "aft"
[parts]
web = { thickness = 0.040 }
cap = { thickness = 0.040 }
[planes.web]
near = "aft"
far = "forward"
layers = ["web", "cap"]
outline.web = { rect = [0, 0, 42, 2] }
outline.cap = { rect = [0, 0, 42, 2] }
[planes.web.rows]
A = { from = [1, 1], to = [40, 1], count = 40 }
[steps.all]
adds = ["web", "cap"]
sets = ["web"]
`;

/** A build with one row of forty, served. */
async function fresh(scope) {
  const folder = join(await temporary(scope), "build");
  const made = spawnSync(process.env.FAYING_BIN, ["new", folder], { encoding: "utf8" });
  assert.equal(made.status, 0, made.stderr);
  await writeFile(join(folder, "plan", "spar.toml"), SPAR);
  const served = await start(scope, ["serve", folder, "--port", "0", "--host", HOST]);
  const url = new URL(served.url);
  url.hostname = HOST;
  return { folder, at: (path) => new URL(path, url).href };
}

/** An evening: fourteen heads that creep upwards, proven again, ten more; one too low and drilled out. */
async function evening(page, served) {
  await page.goto(served.at("/charts"));
  await acts(page, [{ kind: "start", run: "r", step: "spar/all" }]);
  const run = await page.evaluate(async () => (await fetch("/bench/r/data")).json());
  const [{ key, holes }] = run.set_ups;
  const set = (at, height) => [
    { kind: "set", run: "r", set_up: key, holes: [holes[at].name] },
    { kind: "measure", hole: holes[at].name, width: ".190", width_across: (0.188 - (at % 3) / 1000).toFixed(4), height },
  ];
  // Half a thousandth more with every head: no single one of them is outside.
  const heights = Array.from({ length: 14 }, (_, at) => (0.0600 + at * 0.0005 - (at % 3) * 0.0004).toFixed(4));
  await acts(page, heights.flatMap((height, at) => set(at, height)));
  await acts(page, [{ kind: "coupon", run: "r", set_up: key, width: ".190", height: ".060", opened: "-.004" }]);
  const after = [".0600", ".0595", ".0605", ".0600", ".0460", ".0610", ".0600", ".0595", ".0605", ".0600"];
  await acts(page, after.flatMap((height, at) => set(heights.length + at, height)));
  const low = holes[heights.length + 4].name;
  await acts(page, [{ kind: "open", hole: low, why: "too low" }]);
  return { low };
}

/** Everything a thumb goes for in the page itself is at least 44 px high. */
async function thumb(page) {
  const small = await page.locator("main").evaluate((main) => [...main.querySelectorAll("a, button, select, summary, input:not([type=hidden])")]
    .filter((it) => it.checkVisibility() && it.getBoundingClientRect().height < 44)
    .map((it) => it.outerHTML.slice(0, 90)));
  assert.deepEqual(small, []);
  await fits(page);
}

test("heads of a setting stand in its chart, with the words and the figures beside it", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  await page.goto(served.at("/charts"));
  await page.getByText("No head that was set is measured yet").waitFor();
  await axe(page);
  const { low } = await evening(page, served);

  // From the Measure page and from the Tools page one gets there.
  for (const from of ["/measure", "/tools"]) {
    await page.goto(served.at(from));
    await page.locator('main a[href="/charts"]').click();
    await page.waitForURL("**/charts");
  }
  const setting = page.locator("#setting-1");
  const says = await setting.innerText();
  const short = low.split("/").slice(-2).join("-");
  assert.ok(says.includes(`Outside the limits in force: ${short} (.046, drilled out)`), says);
  assert.match(says, /The sums find a slow drift above the aim/);
  assert.match(says, /The moving average left its limits about the aim at A-\d+/);
  assert.match(says, /Cpk\), of 24 heads/);
  assert.match(says, /23 of the 23 rivets|All of the 23 rivets set with it are measured; none is outside/);

  // The drawing for this width, told to who cannot see it; the other one is not read out.
  const drawings = setting.locator("svg:visible");
  assert.equal(await drawings.count(), 2);
  assert.match(await drawings.first().textContent(), /Outside the limits in force/);
  // Outside is another shape, and bears its name.
  assert.equal(await drawings.first().locator(`[data-head="${short}"] path`).count() > 0, true);
  assert.equal(await drawings.first().locator('[data-head="A-1"] path').count(), 0);

  await setting.getByText("The heads in a table").click();
  const line = setting.getByRole("row", { name: new RegExp(`^${short} `) });
  assert.match(await line.innerText(), /drilled out since[^]*outside \.0460/);
  await axe(page);
  await thumb(page);
  await shot(page, "charts");
  await page.emulateMedia({ colorScheme: "dark" });
  await axe(page);
  await shot(page, "charts-dark");
  await page.emulateMedia({ colorScheme: "light", media: "print" });
  await shot(page, "charts-print");
  await page.emulateMedia({ media: "screen" });

  // One of 25: the rate, and how far it is known.
  const rate = page.getByRole("table", { name: "Drilled out, by diameter" }).getByRole("row", { name: /^1\/8 in/ });
  assert.match(await rate.innerText(), /24\s+1\s+4\.2\s+0\.2 to 18\.3/);

  await page.getByLabel("Heads in the row").fill("40");
  await page.getByRole("button", { name: "How many" }).click();
  await page.locator("#wanted", { hasText: "Of 40 heads 31" }).waitFor();
  await page.getByLabel("Heads in the row").fill("many");
  await page.getByRole("button", { name: "How many" }).click();
  await page.locator("#wanted", { hasText: "\"many\" is not a number of heads" }).waitFor();
});

test("ten readings typed by a caliper give the line for limits.toml", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  await page.goto(served.at("/measure"));
  await page.getByRole("link", { name: "Ten readings for the caliper" }).click();
  await axe(page);
  await thumb(page);
  // A caliper with a cable types and sends Enter; the first field waits for it.
  const readings = [".1880", ".1885", ".1875", ".1880", ".1885", ".1875", ".1880", ".1885", ".1875", ".1880"];
  for (const reading of readings) {
    await page.keyboard.type(reading);
    await page.keyboard.press("Enter");
  }
  await page.locator("#line", { hasText: "caliper = 0.0005" }).waitFor();
  const says = await page.locator("#spread").innerText();
  assert.match(says, /Standard deviation s\s+\.00041 in/);
  assert.match(says, /Degrees of freedom of s\s+9/);
  assert.match(says, /Used now: \.00100 in/);
  assert.equal(await page.getByLabel("Reading 10", { exact: true }).inputValue(), ".1880");
  await page.getByRole("button", { name: "Copy the line" }).click();
  await page.getByRole("button", { name: /^(Copied|Marked)/ }).waitFor();
  await page.getByRole("button", { name: "Put that into the record" }).click();
  await page.waitForFunction(async () => (await Acts.waiting()).length === 0);
  await axe(page);
  await thumb(page);
  await shot(page, "caliper");
  // A second head, on demand: its own mean, so the readings of both go together.
  await page.getByRole("button", { name: "Read a second head as well" }).click();
  await page.getByLabel("Head 2, reading 1", { exact: true }).waitFor();
  for (const reading of readings) {
    await page.keyboard.type(reading.replace(".188", ".171").replace(".187", ".170"));
    await page.keyboard.press("Enter");
  }
  await page.getByRole("heading", { name: "What 20 readings say" }).waitFor();
  assert.match(await page.locator("#spread").innerText(), /Degrees of freedom of s\s+18/);
  await axe(page);
  await page.goto(served.at("/record"));
  await page.getByText("Caliper: 10 readings of one head, s 0.00041 in with 9 degrees of freedom").first().waitFor();

  // The line does what it says: pasted into the file, it is the one in use.
  await writeFile(join(served.folder, "limits.toml"), "format = 1\ncaliper = 0.0005\n");
  await page.goto(served.at(`/charts?show=caliper&${readings.map((reading, n) => `a${n + 1}=${reading}`).join("&")}`));
  await page.getByText("Used now: .00050 in").waitFor();
  await page.getByText("write this in the place of that line").waitFor();
  assert.equal(await readFile(join(served.folder, "limits.toml"), "utf8"), "format = 1\ncaliper = 0.0005\n");

  // Nine and a word: what was typed stays, and the field is named.
  await page.getByLabel("Reading 10", { exact: true }).fill("wide");
  await page.getByRole("button", { name: "Work it out" }).click();
  await page.getByText("Reading 10: \"wide\" is not a length").waitFor();
  assert.equal(await page.getByLabel("Reading 10", { exact: true }).inputValue(), "wide");
  await page.getByLabel("Reading 10", { exact: true }).fill("");
  await page.getByRole("button", { name: "Work it out" }).click();
  await page.getByText("1 reading more is wanted before this goes into limits.toml").waitFor();
});
