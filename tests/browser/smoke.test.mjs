// The binary starts, serves the demo under a name of its own, and the first page stands up.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { axe, browser, demo, fits, HOST, open, shot } from "./harness.mjs";

const started = await browser({ after });
const served = await demo({ after });

test("the address names the host it was given", () => {
  assert.equal(new URL(served.url).hostname, HOST);
});

test("the first page of the demo", async (t) => {
  const page = await open(t, started);
  const answer = await page.goto(served.url);
  assert.equal(answer.status(), 200);
  assert.notEqual((await page.title()).trim(), "");
  assert.equal(await page.locator("h1").count(), 1);
  await axe(page);
  await fits(page);
  await shot(page, "first-page");
});
