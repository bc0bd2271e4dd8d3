// What every browser test starts from: the binary, Chromium, a page, axe, pictures.
//
// `cargo xtask browser` sets the environment; by hand, only FAYING_BIN is needed:
//   FAYING_BIN        the binary under test
//   FAYING_URL        an address that is served already; then no binary is started
//   FAYING_CHROMIUM   the browser, else `chromium` from PATH
//   FAYING_ARTEFACTS  where pictures go, else artefacts/ at the top of the repository
//
// The pages are served under a made-up host name, as from a phone on the shop
// network, so that what only works on `localhost` fails here. The browser can
// resolve no other name: a page that asks for anything from outside is found out.
//
// Each function takes a `scope`: a test's context `t`, or `{ after }` from
// `node:test` for a whole file. What was started ends when the scope ends.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { accessSync, constants, existsSync } from "node:fs";
import { cp, mkdir, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { delimiter, dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { AxeBuilder } from "@axe-core/playwright";
import { chromium } from "playwright-core";

/** The made-up name under which the pages are served. */
export const HOST = "bench.test";
/** Widths of a phone held upright and of a laptop, CSS pixels. */
export const WIDTHS = [360, 1280];

const TOP = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const ARTEFACTS = process.env.FAYING_ARTEFACTS ?? join(TOP, "artefacts");
// For a server that hangs; far above what a loaded machine takes.
const START_MS = 60_000;
const STOP_MS = 60_000;

/** A new empty folder, removed when the scope ends. */
export async function temporary(scope) {
  const folder = await mkdtemp(join(tmpdir(), "faying-browser-"));
  scope.after(() => rm(folder, { recursive: true, force: true }));
  return folder;
}

/** The demo, in a new folder: `{ url, folder, said, stop }`. */
export async function demo(scope, more = []) {
  const folder = join(await temporary(scope), "demo");
  return { folder, ...(await start(scope, ["demo", "--dir", folder, "--port", "0", "--host", HOST, ...more])) };
}

/** A copy of the build in `folder`, served: `{ url, folder, said, stop }`. The original is not touched. */
export async function serve(scope, folder, more = []) {
  const copy = join(await temporary(scope), "build");
  await cp(folder, copy, { recursive: true });
  return { folder: copy, ...(await start(scope, ["serve", copy, "--port", "0", "--host", HOST, ...more])) };
}

/**
 * The binary with `args`, once it has printed its address.
 *
 * `said()` is all it printed so far. `stop(signal)` ends it and gives
 * `{ code, signal }`, so that a test can start it again on the same folder.
 */
export async function start(scope, args) {
  if (process.env.FAYING_URL) {
    return { url: process.env.FAYING_URL, said: () => "", stop: async () => ({ code: 0, signal: null }) };
  }
  const binary = process.env.FAYING_BIN;
  assert.ok(binary, "FAYING_BIN is not set: run `cargo xtask browser`, or set it to the binary under test");
  const child = spawn(binary, args, { stdio: ["ignore", "pipe", "pipe"] });
  let printed = "";
  const ended = new Promise((resolve) => {
    child.once("error", (error) => resolve({ code: null, signal: null, error }));
    child.once("close", (code, signal) => resolve({ code, signal }));
  });
  const stop = async (signal = "SIGTERM") => {
    child.kill(signal);
    const late = setTimeout(() => child.kill("SIGKILL"), STOP_MS);
    const end = await ended;
    clearTimeout(late);
    return end;
  };
  // Pages go before their server: what they fetch at that moment is no fault of theirs.
  scope.after(async () => {
    await Promise.all((devices.get(scope) ?? []).map((context) => context.close()));
    await stop();
  });

  const command = `faying ${args.join(" ")}`;
  const url = await new Promise((resolve, reject) => {
    const late = setTimeout(
      () => reject(new Error(`${command} printed no address in ${START_MS / 1000} s. It said:\n${printed}`)),
      START_MS,
    );
    const hear = (text) => {
      printed += text;
      // Wait for the end of the line: a port may arrive in two pieces.
      const found = /(http:\/\/[^\s"'<>]+)[^\n]*\n/.exec(printed);
      if (found) {
        clearTimeout(late);
        resolve(found[1]);
      }
    };
    child.stdout.setEncoding("utf8").on("data", hear);
    child.stderr.setEncoding("utf8").on("data", hear);
    ended.then(({ code, signal, error }) => {
      clearTimeout(late);
      reject(new Error(`${command} ended before it printed an address (${error ?? signal ?? code}). It said:\n${printed}`));
    });
  });
  return { url, said: () => printed, stop };
}

/** Chromium, which can reach the made-up host and nothing else. */
export async function browser(scope) {
  const started = await chromium.launch({
    executablePath: chromiumPath(),
    headless: true,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      `--host-resolver-rules=MAP ${HOST} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1`,
    ],
  });
  scope.after(() => started.close());
  return started;
}

function chromiumPath() {
  const given = process.env.FAYING_CHROMIUM;
  const places = given ? [given] : (process.env.PATH ?? "").split(delimiter).map((folder) => join(folder, "chromium"));
  const found = places.find((place) => existsSync(place) && isProgram(place));
  assert.ok(found, `no Chromium at ${given ?? "any place in PATH"}: on Debian, apt-get install chromium`);
  return found;
}

function isProgram(place) {
  try {
    accessSync(place, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/**
 * A page with its own cookies and storage, as one device.
 *
 * When the scope ends, anything the page complained of fails the test: script
 * errors, console errors, answers of 500 and over, requests that found nobody.
 * A test that provokes such a thing looks at `faults(page)` and empties it.
 */
export async function open(scope, started, options = {}) {
  const context = await started.newContext({ viewport: { width: WIDTHS[1], height: 800 }, ...options });
  devices.set(scope, [...(devices.get(scope) ?? []), context]);
  const page = await context.newPage();
  const heard = [];
  complaints.set(page, heard);
  page.on("pageerror", (error) => heard.push(`script error: ${error.message}`));
  page.on("console", (line) => line.type() === "error" && heard.push(`console: ${line.text()}`));
  page.on("response", (answer) => answer.status() >= 500 && heard.push(`${answer.status()} from ${answer.url()}`));
  page.on("requestfailed", (request) => {
    // Leaving a page ends its open requests; that is no fault.
    const why = request.failure()?.errorText;
    if (why !== "net::ERR_ABORTED") heard.push(`${why}: ${request.url()}`);
  });
  scope.after(async () => {
    await context.close();
    assert.deepEqual(heard, [], "the page complained");
  });
  return page;
}

const complaints = new WeakMap();
/** The devices opened in a scope. */
const devices = new WeakMap();

/** What the page complained of so far; a test may empty the list. */
export function faults(page) {
  return complaints.get(page);
}

/** No violation of any rule axe knows, on the page as it stands. */
export async function axe(page) {
  const { violations } = await new AxeBuilder({ page }).analyze();
  const told = violations.map(
    ({ id, help, nodes }) => `${id}: ${help}\n${nodes.map(({ target, html }) => `    ${target}  ${html}`).join("\n")}`,
  );
  assert.equal(violations.length, 0, `${page.url()}\n${told.join("\n")}`);
}

/** Nothing on the page makes it scroll sideways at either width. */
export async function fits(page) {
  await atEachWidth(page, async (width) => {
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${page.url()} is ${wide} px wide in a window of ${width} px`);
  });
}

/** Pictures of the whole page at both widths, `artefacts/NAME-360.png` and `NAME-1280.png`. */
export async function shot(page, name) {
  await mkdir(ARTEFACTS, { recursive: true });
  const made = [];
  await atEachWidth(page, async (width) => {
    const path = join(ARTEFACTS, `${name}-${width}.png`);
    await page.screenshot({ path, fullPage: true });
    made.push(path);
  });
  return made;
}

async function atEachWidth(page, look) {
  const before = page.viewportSize();
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 800 });
    await look(width);
  }
  if (before) await page.setViewportSize(before);
}

/** Acts of an earlier evening, sent by the page as any other; each must be taken. */
export async function acts(page, list) {
  const { answers } = await page.evaluate(async (list) => {
    const { revision, build } = document.getElementById("main").dataset;
    const acts = list.map((act) => ({ id: Acts.newId(), revision: Number(revision), build, at: Acts.now(), ...act }));
    const body = JSON.stringify({ acts });
    return (await fetch("/acts", { method: "POST", headers: { "Content-Type": "application/json" }, body })).json();
  }, list);
  for (const [n, answer] of answers.entries()) assert.equal(answer.answer, "taken", `${JSON.stringify(list[n])}: ${answer.why}`);
}

/** When nothing waits in the phone any more. */
export const sent = (page) => page.waitForFunction(async () => (await Acts.waiting()).length === 0);

/** A moment so many days ago. */
export const daysAgo = (days) => `${new Date(Date.now() - days * 864e5).toISOString().slice(0, 19)}Z`;

/** The holes of a row by their names, from the first on. */
export const row = (name, count) => Array.from({ length: count }, (_, n) => `${name}/${n + 1}`);
