// A builder's tools typed in with a phone, without a script: a yoke more, a count changed, a tool out.
// Nothing typed is lost where something is refused, and the rest of the file stays as it was.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { appendFile, readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { axe, browser, fits, HOST, open, shot, start, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };

/** A new build, made by the command and served. */
async function fresh(scope, before = async () => {}) {
  const folder = join(await temporary(scope), "build");
  const made = spawnSync(process.env.FAYING_BIN, ["new", folder], { encoding: "utf8" });
  assert.equal(made.status, 0, made.stderr);
  const file = join(folder, "tools.toml");
  const starter = await readFile(file, "utf8");
  await before(file);
  const served = await start(scope, ["serve", folder, "--port", "0", "--host", HOST]);
  const url = new URL(served.url);
  url.hostname = HOST;
  const at = (path) => new URL(path, url).href;
  return { ...served, file, starter, at };
}

const link = (page, name) => page.getByRole("link", { name });
const field = (page, name) => page.getByLabel(name);
const send = (page) => page.getByRole("button", { name: "Write it into tools.toml" }).click();

/** Everything a thumb goes for in the page itself is at least 44 px high, and nothing scrolls sideways. */
async function thumb(page) {
  const small = await page.locator("main").evaluate((main) => [...main.querySelectorAll("a, button, select, summary, input:not([type=hidden])")]
    .filter((it) => it.checkVisibility())
    // A box to tick is as big as the line it stands in.
    .map((it) => (it.matches("[type=checkbox]") ? it.closest("label") : it))
    .filter((it) => it.getBoundingClientRect().height < 44)
    .map((it) => it.outerHTML.slice(0, 90)));
  assert.deepEqual(small, []);
  const scrolls = await page.locator("main").evaluate((main) => [...main.querySelectorAll("*")]
    .filter((it) => it.scrollWidth > it.clientWidth + 1 && ["auto", "scroll"].includes(getComputedStyle(it).overflowX) && it.clientWidth > 0)
    .map((it) => it.outerHTML.slice(0, 90)));
  assert.deepEqual(scrolls, []);
  await fits(page);
}

/** A device whose scripts are switched off: the forms are plain ones. */
const plain = (scope) => open(scope, started, { ...PHONE, javaScriptEnabled: false });

test("a yoke more, without a script", async (t) => {
  const served = await fresh(t);
  const page = await plain(t);
  await page.goto(served.at("/tools"));
  await page.getByText("tools.toml is the starter set as it came").waitFor();
  await link(page, "Add a yoke").click();
  await page.waitForURL("**/tools/yokes");
  await field(page, "Name as shown").fill("Long yoke");
  await field(page, "Hand squeezer").check();
  await field(page, "Throat depth, in").fill("5 1/2");
  await field(page, "Daylight between the jaws").fill("wide");
  await field(page, "Half the width of the jaw's end, in").fill(".31");
  await field(page, "From the face of the die").fill("18 mm");
  await send(page);
  // Refused at the form, in the words of the check, with what was typed kept.
  await page.locator("#refused", { hasText: "\"wide\" is not a length. Write a fraction" }).waitFor();
  assert.equal(await readFile(served.file, "utf8"), served.starter);
  await shot(page, "tools-refused");
  assert.equal(await field(page, "Throat depth, in").inputValue(), "5 1/2");
  assert.equal(await field(page, "Daylight between the jaws").inputValue(), "wide");
  assert.ok(await field(page, "Hand squeezer").isChecked());
  assert.ok(!(await field(page, "Air squeezer").isChecked()));
  await field(page, "Daylight between the jaws").fill("5/8");
  await send(page);
  await page.waitForURL("**/tools?of=yokes&wrote=long-yoke#yokes-long-yoke");
  const row = page.locator("#yokes-long-yoke");
  assert.match(await row.innerText(), /Written into tools\.toml[^]*Long yoke\s+throat 5\.500 in, gap \.625 in, nose \.620 in wide and \.7087 in high, fits Hand squeezer/);
  assert.doesNotMatch(await row.innerText(), /starter set/i);
  const line = 'long-yoke = { title = "Long yoke", fits = ["hand-squeezer"], throat = "5 1/2", gap = "5/8", nose = { half_width = 0.31, height = "18 mm" } }\n';
  const text = await readFile(served.file, "utf8");
  assert.ok(text.includes(line), text);
  assert.equal(text.replace(line, ""), served.starter);
});

test("every form of the page fits a thumb and axe finds nothing", async (t) => {
  const served = await fresh(t);
  const page = await open(t, started, PHONE);
  await page.goto(served.at("/tools"));
  await axe(page);
  await thumb(page);
  await shot(page, "tools");
  const forms = await page.locator('main a[href^="/tools/"]').evaluateAll((links) => links.map((it) => it.getAttribute("href")));
  const sections = ["squeezers", "yokes", "dies", "guns", "bars", "plates", "clecoes", "clamps", "gauges", "times", "other"];
  for (const section of sections) assert.ok(forms.includes(`/tools/${section}`), section);
  // One tool of each kind, and each form of a new one.
  const kinds = forms.filter((it, at) => forms.findIndex((one) => one.split("/").length === it.split("/").length && one.split("/")[2] === it.split("/")[2]) === at);
  assert.equal(kinds.length, 11 + 8);
  for (const path of kinds) {
    await page.goto(served.at(path));
    for (const closed of await page.locator("details:not([open]) > summary").all()) await closed.click();
    await axe(page);
    await thumb(page);
    if (["/tools/yokes/standard", "/tools/times", "/tools/guns/gun"].includes(path)) await shot(page, path.slice(1).replaceAll("/", "-"));
  }
});

test("counts, seconds and a second person, each to its line", async (t) => {
  const served = await fresh(t);
  const page = await plain(t);
  await page.goto(served.at("/tools/clecoes"));
  await field(page, "1/8", { exact: true }).fill("90");
  await field(page, "3/16").fill("");
  await send(page);
  await page.waitForURL("**/tools?of=clecoes&wrote=#clecoes");
  await page.goto(served.at("/tools/times"));
  assert.match(await page.locator("main").innerText(), /s is used now/);
  await field(page, "Turning the part over, s").fill("40");
  await send(page);
  await page.waitForURL("**/tools?of=times&wrote=#times");
  assert.match(await page.getByRole("row", { name: "The part turned over" }).innerText(), /40 s\s+your own/);
  await page.goto(served.at("/tools/other"));
  await field(page, "Whether there is a second person").uncheck();
  await send(page);
  await page.getByText("You work alone.").waitFor();
  const want = served.starter.replace('"1/8" = 150', '"1/8" = 90').replace('"3/16" = 25\n\n', "\n")
    .replace("helper = true ", "helper = false ") + "flip = 40\n";
  assert.equal(await readFile(served.file, "utf8"), want);
  // A form that says what the file says writes nothing.
  await page.goto(served.at("/tools/times"));
  await send(page);
  await page.locator("#refused", { hasText: "Nothing was written" }).waitFor();
  assert.equal(await readFile(served.file, "utf8"), want);
});

test("one figure measured: the others are still said to be the starter set's", async (t) => {
  const served = await fresh(t);
  const page = await plain(t);
  await page.goto(served.at("/tools"));
  assert.match(await page.locator("#yokes-deep").innerText(), /Starter set: not measured/);
  await page.locator("#yokes-deep a").click();
  assert.match(await page.locator("main").innerText(), /These are the figures of the starter set/);
  await field(page, "Throat depth, in").fill("4 1/8");
  await send(page);
  await page.locator("#yokes-deep", { hasText: "Some figures are still those of the starter set" }).waitFor();
  await page.locator("#yokes-deep a").click();
  assert.equal(await page.getByText("as in the starter set").count(), 3, "gap and nose");
  assert.equal(await readFile(served.file, "utf8"), served.starter.replace("throat = 4,", 'throat = "4 1/8",'));
});

test("what somebody else wrote meanwhile is not written over", async (t) => {
  const served = await fresh(t);
  const page = await plain(t);
  await page.goto(served.at("/tools/yokes/deep"));
  await field(page, "Throat depth, in").fill("4.1");
  // In an editor, at the same moment: another figure of the same yoke.
  const theirs = served.starter.replace('gap = "1 1/4"', "gap = 1.3");
  await writeFile(served.file, theirs);
  await send(page);
  await page.locator("#refused", { hasText: "has changed since this page was made" }).waitFor();
  assert.equal(await readFile(served.file, "utf8"), theirs);
  assert.equal(await field(page, "Throat depth, in").inputValue(), "4.1");
  assert.equal(await field(page, "Daylight between the jaws").inputValue(), "1.3", "what they wrote is shown");
  await send(page);
  await page.waitForURL("**/tools?of=yokes&wrote=deep#yokes-deep");
  assert.equal(await readFile(served.file, "utf8"), theirs.replace("throat = 4,", "throat = 4.1,"));
});

test("a tool out, unless another names it", async (t) => {
  const served = await fresh(t);
  const page = await plain(t);
  await page.goto(served.at("/tools/squeezers/air-squeezer"));
  const out = async (what) => {
    await page.getByText("Take it out", { exact: true }).click();
    await page.getByRole("button", { name: `Take out ${what}` }).click();
  };
  await out("Air squeezer");
  await page.locator("#refused", { hasText: "The yoke deep, under fits, names squeezer air-squeezer" }).waitFor();
  assert.equal(await readFile(served.file, "utf8"), served.starter);
  await page.goto(served.at("/tools/yokes/deep"));
  await out("Deep yoke");
  await page.getByText("The yoke deep is taken out of tools.toml.").waitFor();
  assert.equal(await page.locator("#yokes-deep").count(), 0);
  await page.goto(served.at("/tools/squeezers/air-squeezer"));
  await out("Air squeezer");
  await page.getByText("The squeezer air-squeezer is taken out of tools.toml.").waitFor();
});

test("a build without tools.toml says so before the first change writes the starter set", async (t) => {
  const served = await fresh(t, (file) => rm(file));
  const page = await plain(t);
  await page.goto(served.at("/tools"));
  await page.getByText("This build has no tools.toml yet").waitFor();
  await page.locator("#clamps-c-clamp a").click();
  await page.getByText("There is no tools.toml yet.").waitFor();
  await field(page, "How many there are").fill("6");
  await send(page);
  await page.locator("#clamps-c-clamp", { hasText: "6 of them" }).waitFor();
  assert.equal(await readFile(served.file, "utf8"), served.starter.replace("count = 4,", "count = 6,"));
});

test("a file that cannot be read is shown, and offers nothing that could not be done", async (t) => {
  const served = await fresh(t);
  await appendFile(served.file, "[yokes\n");
  const page = await open(t, started, PHONE);
  await page.goto(served.at("/tools"));
  await page.getByText("cannot be changed here before it is mended").waitFor();
  assert.equal(await page.locator('main a[href^="/tools/"]').count(), 0);
  await axe(page);
  await fits(page);
  await page.goto(served.at("/tools/yokes"));
  assert.equal(new URL(page.url()).pathname, "/tools");
});
