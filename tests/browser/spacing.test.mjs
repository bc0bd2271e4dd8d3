// Spacing on the drawing: what is under a rule is ringed and dimensioned, told apart by the line and not by
// colour alone, and the table below says by how much and by which rule.

import assert from "node:assert/strict";
import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, test } from "node:test";
import { axe, browser, demo, fits, open, shot } from "./harness.mjs";

const started = await browser({ after });
const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true };
const main = (page) => page.locator("#main");
const go = (page, served, path) => page.goto(new URL(path, served.url).href);

/** A plane with one hole a diameter from the edge, two rows too near each other, and rows that are under nothing. */
const CROWDED = `format = 1
id = "crowded"
title = "Crowded rib"
units = "in"
[usual]
rivet = "MS20470AD4"
[parts]
web = { title = "Web", thickness = 0.032 }
cap = { title = "Cap", thickness = 0.040 }
[planes.web]
title = "Web"
near = "aft"
far = "forward"
layers = ["cap", "web"]
outline.web = { rect = [0, 0, 12, 5] }
outline.cap = { rect = [0, 0, 12, 5] }
bends = [[[0, 4.2], [12, 4.2]]]
[planes.web.rows]
A = { at = [[1, 0.4], [2, 0.125], [3, 0.4]] }
B = { from = [5, 2], to = [9, 2], count = 5 }
C = { from = [5.5, 2.28], to = [8.5, 2.28], count = 4 }
D = { at = [[10, 0.2]], rivet = "MS20426AD3", prep = { cap = "dimpled", web = "dimpled" } }
E = { at = [[3, 4.1]] }
[planes.clear]
title = "Clear web"
layers = ["cap", "web"]
outline.web = { rect = [0, 0, 12, 5] }
outline.cap = { rect = [0, 0, 12, 5] }
[planes.clear.rows]
A = { from = [1, 2], to = [11, 2], count = 6 }
`;

/** Four hundred holes too near an edge, in twenty rows. */
const MANY = `format = 1
id = "many"
title = "Many"
units = "in"
[usual]
rivet = "MS20470AD4"
[parts]
web = { thickness = 0.032 }
cap = { thickness = 0.040, copies = [${Array.from({ length: 20 }, (_, n) => `"${n + 1}"`).join(", ")}] }
[planes.web]
layers = ["cap", "web"]
outline.web = { rect = [-1, -1, 44, 42] }
outline.cap = [${Array.from({ length: 20 }, (_, n) => `{ rect = [0, ${2 * n}, 42, 0.4] }`).join(", ")}]
[planes.web.rows]
${Array.from({ length: 20 }, (_, n) => `R${n + 1} = { from = [1, ${2 * n + 0.2}], to = [39, ${2 * n + 0.2}], count = 20 }`).join("\n")}
`;

async function built(t, options) {
  const served = await demo(t);
  await writeFile(join(served.folder, "plan", "crowded.toml"), CROWDED);
  await writeFile(join(served.folder, "plan", "many.toml"), MANY);
  return { served, page: await open(t, started, options) };
}

test("holes under a rule are marked on the drawing and named below it", async (t) => {
  const { served, page } = await built(t, { javaScriptEnabled: true });
  await go(page, served, "/assembly/crowded?plane=web&side=near");
  await main(page).getByRole("link", { name: "Spacing" }).click();
  assert.match(page.url(), /plane=web&side=near&show=spacing/);
  await axe(page);
  await fits(page);
  await shot(page, "spacing");

  // A-2, the four of C to B, and E at the bend: by the rule that rules. D by the rule for flush heads only.
  const summary = await main(page).locator("p.lead").textContent();
  assert.match(summary, /Of 14 holes, 6 under the rule that rules this build, 1 under another rule only/);
  const drawing = page.locator(".on-wide svg");
  const said = await drawing.locator("[data-spacing] > title").allTextContents();
  assert.ok(said.includes("A-2: .125 in, 1.00 d"), said.join("; "));
  assert.ok(said.includes("D-1: .200 in, 2.13 d"), said.join("; "));
  assert.equal(new Set(said).size, said.length, "layers with the same edge are dimensioned once");
  // Told apart without colour: what another rule alone turns down is dashed.
  const dashed = async (name) => drawing.locator(`[data-spacing="crowded/web/${name}"] path[stroke-dasharray]`).count();
  assert.equal(await dashed("A/2"), 0);
  assert.ok((await dashed("D/1")) > 0);

  const line = (name) => page.locator("table.spacing tr", { has: page.getByRole("link", { name, exact: true }) });
  // The worst first: E-1 lies .100 in, .80 d, from the bend.
  assert.equal(await page.locator("table.spacing tbody tr").first().getByRole("link").textContent(), "E-1");
  const edge = await line("A-2").first().textContent();
  assert.match(edge, /\.25 in under; it rules this build|\.250 in under; it rules this build/);
  assert.match(await line("D-1").first().textContent(), /\.2344 in under Flush/);
  assert.match(await line("D-1").first().textContent(), /not known not compared The die of the dimple/);

  // From the other side the same, and the choice stays.
  await main(page).getByRole("link", { name: "from forward" }).click();
  assert.match(page.url(), /side=far&show=spacing/);
  assert.deepEqual(new Set(await page.locator(".on-wide svg [data-spacing] > title").allTextContents()), new Set(said));

  await line("A-2").getByRole("link").first().click();
  await main(page).getByRole("heading", { name: "Spacing" }).waitFor();
  assert.match(await page.locator(".spaced details[open] summary").first().textContent(), /\.125 in, 1\.00 d to the edge of/);
  await axe(page);
  await fits(page);
  await shot(page, "spacing-hole");
});

test("nothing under a rule: it says so, and which rules were asked", async (t) => {
  const { served, page } = await built(t, PHONE);
  await go(page, served, "/assembly/crowded?plane=clear&side=near&show=spacing");
  assert.match(await main(page).locator("p.lead").textContent(), /Of 6 holes none is under a rule that has a figure/);
  assert.equal(await page.locator("table.spacing").count(), 0);
  await page.getByText("Rules asked of this plane").tap();
  assert.match(await main(page).textContent(), /AC 43\.13-1B/);
  await axe(page);
  await fits(page);
});

test("four hundred holes under a rule stay readable, in the dark as well", async (t) => {
  const { served, page } = await built(t, { ...PHONE, colorScheme: "dark" });
  await go(page, served, "/assembly/many?plane=web&side=near&show=spacing");
  assert.match(await main(page).locator("p.lead").textContent(), /Of 400 holes, 400 under the rule that rules/);
  assert.match(await main(page).textContent(), /Drawn is the worst of each row/);
  const shown = await page.locator(".on-wide svg [data-spacing]").count();
  assert.ok(shown > 0 && shown <= 20, `${shown} dimensions`);
  await axe(page);
  await fits(page);
  await shot(page, "spacing-many");
});
