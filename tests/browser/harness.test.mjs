// The harness itself: each of its checks must be able to fail.

import assert from "node:assert/strict";
import { readFile, stat } from "node:fs/promises";
import { createServer } from "node:http";
import { after, test } from "node:test";
import { axe, browser, faults, fits, HOST, open, shot, WIDTHS } from "./harness.mjs";

const SOUND = `<!doctype html><html lang="en"><title>Bench</title><link rel="icon" href="data:,"><main><h1>Bench</h1></main></html>`;
const WIDE = SOUND.replace("</main>", `<div style="width:900px">a</div></main>`);
const UNNAMED = SOUND.replace("</main>", `<button></button></main>`);

const started = await browser({ after });
const port = await listen();

function listen() {
  const server = createServer((request, answer) => {
    const pages = { "/": SOUND, "/wide": WIDE, "/unnamed": UNNAMED };
    const page = pages[request.url];
    answer.writeHead(page ? 200 : 500, { "content-type": "text/html" }).end(page ?? "");
  });
  after(() => server.close());
  return new Promise((resolve) => server.listen(0, "127.0.0.1", () => resolve(server.address().port)));
}

const at = (path) => `http://${HOST}:${port}${path}`;

test("the made-up host is reached, and a sound page passes every check", async (t) => {
  const page = await open(t, started);
  await page.goto(at("/"));
  await axe(page);
  await fits(page);
});

test("axe fails on a button without a name", async (t) => {
  const page = await open(t, started);
  await page.goto(at("/unnamed"));
  await assert.rejects(axe(page), /button-name/);
});

test("a page wider than a phone does not fit", async (t) => {
  const page = await open(t, started);
  await page.goto(at("/wide"));
  await assert.rejects(fits(page), /window of 360 px/);
});

test("script errors, refusals and strangers are heard", { timeout: 60_000 }, async (t) => {
  const page = await open(t, started);
  await page.goto(at("/"));
  await page.evaluate(() => setTimeout(() => { throw new Error("slipped"); }));
  await page.evaluate(async () => {
    await fetch("/broken");
    await fetch("http://elsewhere.test/").catch(() => {});
  });
  // Faults are told on another way than the end of a script, and may come a moment later.
  const expected = [/script error: slipped/, /500 from .*\/broken/, /ERR_NAME_NOT_RESOLVED: http:\/\/elsewhere\.test\//];
  while (!expected.every((one) => one.test(faults(page).join("\n")))) await new Promise((resolve) => setTimeout(resolve, 20));
  faults(page).length = 0;
});

test("a picture is made at each width, and the window is put back", async (t) => {
  const page = await open(t, started);
  await page.goto(at("/"));
  const before = page.viewportSize();
  const made = await shot(page, "harness");
  for (const [index, path] of made.entries()) {
    assert.ok((await stat(path)).size > 0);
    // A PNG's width stands in bytes 16 to 19 of the file.
    assert.equal((await readFile(path)).readUInt32BE(16), WIDTHS[index]);
  }
  assert.deepEqual(page.viewportSize(), before);
});
