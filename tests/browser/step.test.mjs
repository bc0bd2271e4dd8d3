// A step over several evenings: pieces ticked one by one, the clock over a reload and on another device,
// photographs as the camera wrote them, with and without a network.

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { after, test } from "node:test";
import { axe, browser, faults, fits, open, serve, shot, temporary } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };

const PLAN = `format = 1
id = "tab"
title = "Trim tab"
[parts]
web = { title = "Spar web", thickness = 0.040 }
rib = { title = "Rib", copies = ["1", "2", "3"], thickness = 0.032 }
[rows]
K = { count = 4, called = "MS20470AD4-4" }
[steps.prime]
title = "Prime web and ribs"
sheet = "TT-1, step 1"
work = "prime"
parts = ["web", "rib"]
tools = ["primer", "two racks"]
cure = 24
hours = 1.5
people = 2
note = "Mask the hinge line first."
[steps.fit]
title = "Fit the horn"
sheet = "TT-1, step 2"
[steps.rivet]
title = "Rivet the web"
adds = ["web", "rib/1"]
sets = ["K"]
after = ["prime", "fit"]
[gates.look]
title = "Before riveting"
before = "rivet"
needs = ["photograph:conduit"]
`;

async function build(t) {
  const folder = join(await temporary(t), "tab");
  await mkdir(join(folder, "plan"), { recursive: true });
  await writeFile(join(folder, "plan", "tab.toml"), PLAN);
  return serve(t, folder);
}

const at = (served, path) => new URL(path, served.url).href;
const button = (page, name) => page.getByRole("button", { name, exact: true });
const camera = (page) => page.locator("form.photo input[capture]");
const box = (page) => page.locator("#photographs-waiting");
/** How many photographs this page still holds. */
const held = (page) => page.evaluate(async () => (await Photos.waiting()).length);
const until = (page, count) => page.waitForFunction(async (count) => (await Photos.waiting()).length === count, count);

/** A real JPEG from the browser's own encoder: a grey sheet with a few holes in it. */
async function jpeg(page, words, [width, height] = [640, 480]) {
  const text = await page.evaluate(([words, width, height]) => {
    const canvas = Object.assign(document.createElement("canvas"), { width, height });
    const draw = canvas.getContext("2d");
    draw.fillStyle = "#c9ccd0";
    draw.fillRect(0, 0, width, height);
    draw.fillStyle = "#333";
    for (let hole = 0; hole < 8; hole += 1) {
      draw.beginPath();
      draw.arc(60 + hole * 70, height / 2, 14, 0, 7);
      draw.fill();
    }
    draw.font = "40px sans-serif";
    draw.fillText(words, 40, 80);
    return canvas.toDataURL("image/jpeg", 0.85).split(",")[1];
  }, [words, width, height]);
  const buffer = Buffer.from(text, "base64");
  assert.deepEqual([...buffer.subarray(0, 3)], [0xff, 0xd8, 0xff]);
  return { name: `${words}.jpg`, mimeType: "image/jpeg", buffer };
}

const hash = (bytes) => createHash("sha256").update(bytes).digest("hex");
/** The originals on the server's disk. */
async function originals(folder) {
  const names = await readdir(join(folder, "photos")).catch(() => []);
  return Promise.all(names.map(async (name) => ({ name, hash: hash(await readFile(join(folder, "photos", name))) })));
}

test("pieces are ticked one by one, a slip is taken back, and the rest is one tap", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  const other = await open(t, started);
  await page.goto(at(served, "/step/tab/rivet"));
  // What it waits for leads there.
  const waits = page.locator("#waits li");
  assert.deepEqual(await waits.allInnerTexts(), [
    "Prime web and ribs\n0 of 4 done", "Fit the horn\nNot done", "Gate: Before riveting\n3 things stand against it",
  ]);
  assert.equal(await page.locator(".start").count(), 0, "nothing to tap while it waits");
  await axe(page);
  await fits(page);
  await shot(page, "step-waits");
  await waits.first().getByRole("link").click();
  await page.waitForURL("**/step/tab/prime");
  await other.goto(at(served, "/step/tab/prime"));

  const status = page.locator("#work h2 small");
  assert.equal(await status.innerText(), "0 of 4 done");
  for (const name of ["Spar web", "Rib 1", "Rib 2", "Rib 3"]) {
    const { height } = await button(page, `Done: ${name}`).boundingBox();
    assert.ok(height >= 44, `${name}: ${height} px high`);
  }
  await button(page, "Done: Rib 2").click();
  await status.getByText("1 of 4 done").waitFor();
  assert.equal(await page.locator("h1 small").innerText(), "begun");
  assert.equal(await button(page, "Done: Rib 2").count(), 0);
  // The other device has seen it.
  await other.locator("#work h2 small").getByText("1 of 4 done").waitFor();
  await axe(page);
  await fits(page);
  await shot(page, "step-begun");
  // It was the other rib.
  await page.locator("#history summary").first().click();
  await button(page, "Take back: prime, Trim tab: Prime web and ribs").click();
  await status.getByText("0 of 4 done").waitFor();
  await button(page, "Done: Rib 3").click();
  await status.getByText("1 of 4 done").waitFor();
  await button(page, "All 3 that are left are done").click();
  await page.locator("h1 small").getByText("done").waitFor();
  assert.equal(await page.locator("#work button").count(), 0);

  // A step without pieces is done as a whole.
  await page.goto(at(served, "/step/tab/fit"));
  await button(page, "Done").click();
  await page.locator("h1 small").getByText("done").waitFor();
  // What was primed just now has not cured.
  await page.goto(at(served, "/step/tab/rivet"));
  assert.match(await waits.first().innerText(), /^Prime web and ribs\nCures until \d{4}-\d\d-\d\d \d\d:\d\d, another (1 d|23 h \d+ min)$/);
  await shot(page, "step-cures");
});

test("the clock goes on over a reload, stops on another device, and hours can be written in", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  const other = await open(t, started);
  await page.goto(at(served, "/step/tab/prime"));
  assert.match(await page.locator("#hours p").first().innerText(), /^None written down · 1 h 30 min planned$/);
  await page.getByText("Write hours in").click();
  await page.getByLabel("How long, as 1.5, 1:30 or 90 min").fill("soon");
  await button(page, "Write it down").click();
  await page.getByText("\"soon\" is no time; write 1.5, 1:30 or 90 min").waitFor();
  await page.getByLabel("How long, as 1.5, 1:30 or 90 min").fill("0:45");
  await button(page, "Write it down").click();
  await page.locator("#hours").getByText("45 min written down").waitFor();

  await button(page, "Start the clock").click();
  await page.locator("#clock-here").waitFor();
  await page.reload();
  await page.locator("#clock-here [data-minutes]").waitFor();
  assert.match(await page.locator("#clock-here").innerText(), /The clock runs: [01] min since \d\d:\d\d\n/);
  await axe(page);
  await fits(page);
  await shot(page, "step-clock");
  // The words of the script are those of the server.
  const said = await page.evaluate(() => [0, 0.5, 59.5, 60, 80, 200.2, 1440, 1500, 2879.5].map(Clock.words));
  assert.deepEqual(said, ["0 min", "1 min", "1 h", "1 h", "1 h 20 min", "3 h 21 min", "1 d", "1 d 1 h", "2 d"]);

  // On another step it is said where it runs; hours of two steps are not mixed up.
  await other.goto(at(served, "/step/tab/fit"));
  await other.locator("#hours").getByText("Hours of this step can be written once it is stopped.").waitFor();
  assert.equal(await button(other, "Start the clock").count(), 0);
  await axe(other);
  await fits(other);
  await shot(other, "step-clock-elsewhere");
  await button(other, "Stop the clock on Trim tab: Prime web and ribs").click();
  await button(other, "Start the clock").waitFor();
  await button(page, "Start the clock").waitFor();
  assert.match(await page.locator("#hours p").first().innerText(), /^4[56] min written down/);
  await other.goto(at(served, "/step/tab/fit"));
  assert.match(await other.locator("#hours p").first().innerText(), /^None written down/);
});

test("a photograph is kept as the camera wrote it, and the same one is kept once", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  const other = await open(t, started);
  await page.goto(at(served, "/step/tab/prime"));
  await other.goto(at(served, "/step/tab/prime"));
  const picture = await jpeg(page, "primed");
  await page.getByLabel("What it shows (may stay empty)").fill("Ribs on the rack");
  await camera(page).setInputFiles(picture);
  await page.locator(".photos img").waitFor();
  await other.locator(".photos img").waitFor();
  assert.deepEqual(await originals(served.folder).then((all) => all.map((it) => it.hash)), [hash(picture.buffer)]);
  await page.locator(".photos img").scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelector(".photos img").naturalWidth === 640);
  assert.equal(await page.locator(".photos img").getAttribute("alt"), "Ribs on the rack");
  await axe(page);
  await fits(page);
  await shot(page, "step-photograph");

  // Again, and another by the second way; the first is no second file.
  await camera(page).setInputFiles(picture);
  await page.waitForFunction(() => document.querySelectorAll(".photos img").length === 2);
  await page.locator("form.photo input[multiple]").setInputFiles([await jpeg(page, "one"), await jpeg(page, "two")]);
  await page.waitForFunction(() => document.querySelectorAll(".photos img").length === 4);
  assert.equal((await originals(served.folder)).length, 3);
  await until(page, 0);

  // All of them by day, each with the way back.
  await page.goto(at(served, "/photos"));
  assert.equal(await page.locator(".photos li").count(), 4);
  await axe(page);
  await fits(page);
  await shot(page, "photographs");
  const [kind, keep] = await page.evaluate(async () => {
    const { headers } = await fetch(document.querySelector(".photos a").href, { cache: "no-store" });
    return [headers.get("content-type"), headers.get("cache-control")];
  });
  assert.equal(kind, "image/jpeg");
  assert.match(keep, /immutable/);
  await page.getByRole("link", { name: "tab/prime", exact: true }).first().click();
  await page.waitForURL("**/step/tab/prime");
});

test("without a network it waits in the phone, over a reload of the page's script, and is sent later", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  await page.goto(at(served, "/step/tab/prime"));
  const picture = await jpeg(page, "no network");
  await page.context().setOffline(true);
  await camera(page).setInputFiles(picture);
  await box(page).getByText("1 photograph is waiting for the server").waitFor();
  assert.equal(await held(page), 1);
  assert.deepEqual(await originals(served.folder), []);
  await axe(page);
  await shot(page, "step-photograph-waits");
  // A second page of the same phone holds it too: it is in the phone and not in the page.
  const second = await page.context().newPage();
  await page.context().setOffline(false);
  await second.goto(at(served, "/step/tab/fit"));
  await until(second, 0);
  await until(page, 0);
  await page.locator(".photos img").first().waitFor();
  assert.deepEqual(await originals(served.folder).then((all) => all.map((it) => it.hash)), [hash(picture.buffer)]);
  // Both pages may have sent it: it is one act.
  await page.reload();
  assert.equal(await page.locator(".photos li").count(), 1);
  faults(page).length = 0; // requests that found no network
});

test("what cannot be kept or shown is told in words", async (t) => {
  const served = await build(t);
  const page = await open(t, started, PHONE);
  await page.goto(at(served, "/step/tab/prime"));
  const says = page.locator("form.photo [data-says]");
  const large = join(await temporary(t), "large.jpg");
  await writeFile(large, Buffer.alloc(41 * 1024 * 1024, 0xff));
  await page.locator("form.photo input[multiple]").setInputFiles(large);
  await says.getByText("large.jpg has 41 MB; the most that is kept of one photograph is 40 MB.").waitFor();
  assert.equal(await held(page), 0);
  // No picture, whatever it is called.
  await camera(page).setInputFiles({ name: "list.jpg", mimeType: "image/jpeg", buffer: Buffer.from("rivets, 400") });
  await box(page).getByText("Not taken: This is no photograph that can be kept here").waitFor();
  await axe(page);
  await shot(page, "step-photograph-refused");
  await button(page, "Seen, remove it here").click();
  await until(page, 0);
  // A phone's own format is kept, and not shown as a broken picture.
  const heic = Buffer.concat([Buffer.from([0, 0, 0, 0x18]), Buffer.from("ftypheic\0\0\0\0mif1heic"), Buffer.alloc(64)]);
  await camera(page).setInputFiles({ name: "IMG.HEIC", mimeType: "", buffer: heic });
  await page.getByText("Kept as the phone wrote it, not as JPEG or PNG.").waitFor();
  assert.equal(await page.locator(".photos img").count(), 0);
  await fits(page);

  // Its file is gone: said on the page, and by the check of the record.
  const picture = await jpeg(page, "gone");
  await camera(page).setInputFiles(picture);
  await page.locator(".photos img").waitFor();
  await until(page, 0);
  const name = (await originals(served.folder)).find((it) => it.name.endsWith(".jpg")).name;
  await rm(join(served.folder, "photos", name));
  const another = await open(t, started, PHONE);
  await another.goto(at(served, "/step/tab/prime"));
  await another.locator(".photos li").first().scrollIntoViewIfNeeded();
  await another.getByText("This picture cannot be shown: the file is missing from photos/, or damaged.").waitFor();
  await shot(another, "step-photograph-gone");
  assert.deepEqual(faults(another).splice(0).filter((it) => !it.includes("404")), []);
  faults(page).length = 0; // the refusal was provoked
  await served.stop();
  const check = spawnSync(process.env.FAYING_BIN, ["verify", served.folder], { encoding: "utf8" });
  assert.notEqual(check.status, 0);
  assert.match(check.stdout, new RegExp(`photograph ${name}: not in the folder`));
});
