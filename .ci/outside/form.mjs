// Taps whole visits through on the crew's form, as a telephone shows it: 390 px wide, by touch, without a network, from a file. The
// browser is closed half way and opened again. The log that the form gives is written to a folder, for decant to take as it is.
//
//     node form.mjs TOOLS FORM OUT PLAN...
//
// TOOLS holds node_modules with puppeteer-core and axe-core. FORM is what `decant log` made of the jobs whose plans (`decant plan
// --json`) are named: from them the times at which a crew on schedule would tap are taken. Exit 1 if anything is wrong.

import { createHash } from "node:crypto";
import { createRequire } from "node:module";
import { mkdtemp, mkdir, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { tmpdir } from "node:os";

const [tools, form, out, ...planned] = process.argv.slice(2);
const require = createRequire(resolve(tools, "package.json"));
const puppeteer = require("puppeteer-core");
const axe = await readFile(require.resolve("axe-core/axe.min.js"), "utf8");
const plans = await Promise.all(planned.map(async (file) => JSON.parse(await readFile(file, "utf8"))));

const RULES = JSON.stringify({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] });
const url = pathToFileURL(resolve(form)).href;
const faults = [];
let checks = 0;
const must = (holds, told) => {
  checks += 1;
  if (!holds) faults.push(told);
};

await mkdir(out, { recursive: true });
const pictures = await mkdtemp(join(tmpdir(), "decant-pictures-"));
const profile = await mkdtemp(join(tmpdir(), "decant-chromium-"));
const launch = () => puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  userDataDir: profile,
  protocolTimeout: 30_000,
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

// What the page's clock shows; it stands still between two taps.
const clock = (moment) => `window.clock = new Date(${JSON.stringify(moment)}).getTime()`;
const STILL = `{ const Real = Date; window.Date = class extends Real { constructor(...given) { super(...(given.length > 0 ? given : [window.clock ?? Real.now()])); } }; }`;
const NO_CRYPTO = `Object.defineProperty(window.crypto, "subtle", { value: undefined })`;
const SHARES = `navigator.canShare = () => true; navigator.share = async ({ files }) => { window.sent = files.map((file) => file.name); }`;
const NO_STORE = `Object.defineProperty(window, "localStorage", { get() { throw new Error("no store"); } })`;

async function open(browser, told, ...before) {
  const page = await browser.newPage();
  await page.setViewport({ width: 390, height: 844, deviceScaleFactor: 2, isMobile: true, hasTouch: true });
  await page.emulateTimezone("America/New_York");
  await page.setOfflineMode(true);
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  page.on("console", (message) => must(false, `${told}: the console says ${message.text()}`));
  page.on("pageerror", (error) => must(false, `${told}: ${error}`));
  page.on("dialog", async (dialog) => {
    must(dialog.type() === "beforeunload", `${told}: a dialog says ${dialog.message()}`);
    await dialog.accept();
  });
  for (const script of [STILL, ...before]) await page.evaluateOnNewDocument(script);
  await page.goto(url, { waitUntil: "load" });
  must(asked.every((it) => it === url), `${told}: asks for ${asked}`);
  return page;
}

async function at(page, id) {
  const found = await page.evaluateHandle((id) => document.getElementById(id), id);
  if (!found.asElement()) throw new Error(`nothing has the id ${id}`);
  return found.asElement();
}

async function tap(page, id, moment) {
  if (moment) await page.evaluate(clock(moment));
  const it = await at(page, id);
  // past the bar at the lower edge
  await it.evaluate((it) => it.scrollIntoView({ block: "center" }));
  await it.tap();
}

async function type(page, id, text) {
  const it = await at(page, id);
  await it.evaluate((it) => it.scrollIntoView({ block: "center" }));
  await it.tap();
  // the browser gives it the focus a moment after the finger has left it
  await page.waitForFunction((id) => document.activeElement?.id === id, { timeout: 5_000 }, id);
  // faster than fingers are, the browser takes a key for a part of the touch before it
  await page.keyboard.type(text, { delay: 10 });
  must((await it.evaluate((it) => it.value)) === text, `${id} does not hold what was typed`);
}

const text = (page) => page.evaluate("document.body.innerText");
const count = (page) => page.evaluate("document.querySelectorAll('#open li').length");

// axe-core in light and dark; nothing is wider than the window, and everything to tap is 48 px or larger.
async function look(page, told) {
  // at its end the bar covers nothing
  await page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)");
  for (const value of ["light", "dark"]) {
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value }]);
    const found = await page.evaluate(`${axe}; axe.run(document, ${RULES})`);
    must(found.passes.length > 15, `${told}: axe-core looked at ${found.passes.length} rules only`);
    const where = (it) => it.nodes.map((node) => node.target.join(" ")).join(", ");
    for (const fault of found.violations) must(false, `${told}, ${value}: ${fault.id}: ${fault.help}: ${where(fault)}`);
    // axe-core cannot tell the color behind what the bar covers at the moment
    for (const it of found.incomplete) must(it.id === "color-contrast", `${told}, ${value}: undecided: ${it.id}: ${where(it)}`);
  }
  await page.emulateMediaFeatures([]);
  const wide = await page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth");
  must(wide <= 0, `${told}: ${wide} px wider than the window`);
  const small = await page.evaluate(() => [...document.querySelectorAll("main button, main input, main select, main textarea, main summary")]
    .map((it) => [it.id, it.getBoundingClientRect()])
    .filter(([, box]) => box.width > 0 && (box.height < 48 || box.width < 48))
    .map(([id, box]) => `${id} ${box.width} x ${box.height}`));
  must(small.length === 0, `${told}: too small to tap: ${small}`);
  await page.screenshot({ path: join(out, `${told.replaceAll(" ", "-")}.png`), fullPage: true });
}

const later = (moment, minutes) => {
  const [day, time] = moment.split("T");
  const moved = new Date(`${day}T${time}Z`);
  moved.setUTCMinutes(moved.getUTCMinutes() + minutes);
  return moved.toISOString().slice(0, 19);
};

const HOSTILE = `</script><script>alert(1)</script> "quoted", and 'so'; = 1`;

// Everything of a load, in the order in which a crew does it.
async function tapLoad(page, own, treatment, load) {
  await tap(page, `${own}/mixed`, load.mixed_at);
  const lots = await page.evaluate((id) => document.getElementById(id) !== null, `${own}/lot/0`);
  if (lots) await tap(page, `${own}/lot/0`);
  else await type(page, `${own}/lot`, "L-1");
  if (!treatment.strip) return;
  const { passes, passes_between: between } = treatment.strip;
  if (passes.length > 0) await tap(page, `${own}/reading/b${passes[0]}`);
  else await tap(page, `${own}/reading/${between.length > 0 ? `s${between[0]}` : "b0"}`);
  const strips = await page.evaluate((id) => document.getElementById(id) !== null, `${own}/strip_lot/0`);
  if (strips) await tap(page, `${own}/strip_lot/0`);
}

// What a meter shows in the place of a strip: its figure alone is no reading.
async function meterLoad(page, own, treatment, load) {
  await tap(page, `${own}/mixed`, load.mixed_at);
  const lots = await page.evaluate((id) => document.getElementById(id) !== null, `${own}/lot/0`);
  if (lots) await tap(page, `${own}/lot/0`);
  else await type(page, `${own}/lot`, "L-1");
  const before = await count(page);
  await tap(page, `${own}/meter`);
  must((await page.evaluate((id) => document.getElementById(id), `${own}/reading/b0`)) === null, "a meter leaves the blocks of the strip there");
  await type(page, `${own}/figure`, String(Math.ceil(treatment.bounds.dose.value)));
  must((await count(page)) === before, "a figure without its error is taken for a reading");
  await type(page, `${own}/error`, "2,5");
  must((await count(page)) < before, "a meter's figure with its error is not taken for a reading");
}

async function tapArea(page, visit, treatment, index) {
  const area = treatment.areas[index];
  const own = `${visit}/areas/${treatment.number}-${index}`;
  await tap(page, `${own}/started`, area.start);
  // a spot is watched from its first wetting on, and tapped for as long as it is wet
  const spots = await page.evaluate((id) => [...document.querySelectorAll("[id]")].map((it) => it.id).filter((it) => it.startsWith(id)), `${visit}/checks/`);
  await tap(page, `${visit}/checks/${treatment.number}-${index}`);
  const after = await page.evaluate((id) => [...document.querySelectorAll("[id]")].map((it) => it.id).filter((it) => it.startsWith(id)), `${visit}/checks/`);
  const spot = after.find((id) => id.endsWith("/spot") && !spots.includes(id)).replace(/\/spot$/, "");
  await type(page, `${spot}/spot`, "by the door");
  await tap(page, `${spot}/wetted`, area.start);
  const contact = treatment.directions.contact_time.value / 60;
  await tap(page, `${spot}/seen_wet`, later(area.start, 1));
  await tap(page, `${spot}/still`, later(area.start, contact));
  await tap(page, `${own}/finished`, area.done);
  const again = (treatment.wetness?.applications ?? 1) - 1;
  for (let n = 0; n < again; n += 1) await tap(page, `${own}/rewets/add`, area.done);
  await tap(page, `${own}/wet_until`, later(area.done, contact));
  if (treatment.rinse) await tap(page, `${own}/rinsed`, later(area.done, contact + 1));
}

let browser = await launch();
try {
  let page = await open(browser, "at the start");
  must((await count(page)) === plans.flatMap((plan) => plan.treatments.flatMap((t) => [...t.loads, ...t.areas])).length, "at the start: not everything is open");
  await look(page, "at the start");
  // nothing is written down that nobody tapped
  await tap(page, "save");
  must((await readdir(out)).every((name) => !name.endsWith(".csv")), "a log was given of nothing");

  let half = true;
  for (const [visit, plan] of plans.entries()) {
    if (plans.length > 1) await tap(page, `visit/${visit}`);
    await tap(page, `${visit}/by/0`);
    for (const treatment of plan.treatments) {
      for (const load of treatment.loads) {
        const own = `${visit}/loads/${treatment.number}-${load.number}`;
        if (half && treatment.strip) {
          // a slip is taken back, by its own button and by the one for the last tap
          await tap(page, `${own}/0/mixed`, plan.start);
          await tap(page, `${own}/0/mixed/undo`);
          await tap(page, `${own}/0/mixed`, plan.start);
          await tap(page, "undo");
          must((await text(page)).includes("1") && (await page.evaluate((id) => document.getElementById(id).className === "tap", `${own}/0/mixed`)), "undo does not take a tap back");
          // a mix that fails is mixed again, and both readings stay
          await tapLoad(page, `${own}/0`, treatment, load);
          await tap(page, `${own}/0/reading/b0`);
          must(await page.evaluate("document.querySelector('.fails') !== null"), "a reading that fails is not called so");
          await tap(page, `${own}/again`);
          const again = await page.evaluate((id) => [...document.querySelectorAll("button.tap")].map((it) => it.id).find((it) => it.startsWith(id) && it.endsWith("/mixed")), `${own}/`);
          await meterLoad(page, again.replace(/\/mixed$/, ""), treatment, load);
          await look(page, "half way");

          // the battery is empty: the browser is gone, and comes back
          const before = [await count(page), await text(page)];
          await browser.close();
          browser = await launch();
          page = await open(browser, "after the browser was closed");
          if (plans.length > 1) await tap(page, `visit/${visit}`);
          must((await count(page)) === before[0], `after the browser was closed ${await count(page)} are open, not ${before[0]}`);
          must((await text(page)).includes("1"), "after the browser was closed");
          half = false;
        } else {
          await tapLoad(page, `${own}/0`, treatment, load);
        }
        // the amounts, folded away, as they were measured
        const planned = await page.evaluate((id) => [...document.querySelectorAll("button")].map((it) => it.id).filter((it) => it.startsWith(id) && it.endsWith("/planned")).pop(), `${own}/`);
        const fold = await (await at(page, planned)).evaluateHandle((it) => it.closest("details").querySelector("summary"));
        await fold.evaluate((it) => it.scrollIntoView({ block: "center" }));
        await fold.tap();
        await page.waitForFunction((id) => document.getElementById(id).closest("details").open, { timeout: 5_000 }, planned);
        await tap(page, planned);
      }
      for (const index of treatment.areas.keys()) await tapArea(page, visit, treatment, index);
    }
  }
  must((await count(page)) === 0, `everything is tapped, and ${await page.evaluate("document.getElementById('open').innerText")}`);

  // notes and pictures, the second with a digest of the page's own
  await tap(page, "0/notes/add".replace("0", String(plans.length - 1)));
  const note = await page.evaluate(() => [...document.querySelectorAll("input")].map((it) => it.id).find((it) => it.endsWith("/what")));
  must((await count(page)) === 1, "a note without a text is not open");
  await type(page, note, HOSTILE);
  await type(page, note.replace(/what$/, "reason"), "=SUM(A1)");
  for (const [name, bytes] of [["hall.jpg", "abc"], ["floor.jpg", "x".repeat(200_003)]]) await writeFile(join(pictures, name), bytes);
  const add = async (name) => {
    const input = await at(page, `${plans.length - 1}/photographs/add`);
    await input.uploadFile(join(pictures, name));
    await page.waitForFunction((name) => document.body.innerText.includes(name), {}, name);
  };
  await add("hall.jpg");
  await page.close();
  page = await open(browser, "without WebCrypto", NO_CRYPTO, SHARES);
  await add("floor.jpg");
  const digests = await page.evaluate("[...document.querySelectorAll('code')].map((it) => it.textContent.replaceAll(' ', ''))");
  for (const name of ["hall.jpg", "floor.jpg"]) {
    const own = createHash("sha256").update(await readFile(join(pictures, name))).digest("hex");
    must(digests.includes(own), `the digest of ${name} is not ${own}: ${digests}`);
    await writeFile(join(out, name), await readFile(join(pictures, name)));
  }
  await look(page, "at the end");

  // what cannot be printed is said where it is typed
  const emoji = (await at(page, note));
  await emoji.evaluate((it) => { it.value += "\u{1f600}"; it.dispatchEvent(new Event("input")); });
  must((await text(page)).includes("\u{1f600}"), "a character that cannot be printed is not named");
  await emoji.evaluate((it) => { it.value = it.value.replace("\u{1f600}", ""); it.dispatchEvent(new Event("input")); });

  const session = await page.createCDPSession();
  await session.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: resolve(out) });
  await tap(page, "save");
  let given = [];
  for (let waited = 0; waited < 50 && given.length === 0; waited += 1) {
    await new Promise((done) => setTimeout(done, 100));
    given = (await readdir(out)).filter((name) => name.endsWith(".csv"));
  }
  must(given.length === 1, `the form gave ${given.length} files`);
  await tap(page, "share");
  const sent = await page.evaluate("window.sent");
  must(sent?.join() === [...given, "floor.jpg"].join(), `sent ${sent}: not the log with the picture that is at hand`);

  // the same form in a second window shows what is tapped in the first, and loses nothing of it
  const other = await open(browser, "in a second window");
  await tap(other, `${plans.length - 1}/notes/add`);
  await page.bringToFront();
  await page.waitForFunction("document.querySelectorAll('#open li').length === 1", { timeout: 5_000 });
  await tap(page, "undo");
  must((await count(page)) === 0, "a tap of another window is not taken back");
  await other.close();
  await tap(page, "text");
  const shown = await page.evaluate("document.querySelector('textarea').value");
  const log = given.length === 1 ? await readFile(join(out, given[0]), "utf8") : "";
  must(log === `\ufeff${shown.replaceAll("\n", "\r\n")}`, "the text that is shown is not the file");
  must(log.includes(" ppm,") && log.includes(",±2.5 %,"), "what the meter showed is not in the log");
  must(log.includes(",'=SUM(A1)"), "a text that begins as a formula is given as it is");
  await page.close();

  // another form of the same night is not filled in, and a browser that keeps nothing says so
  page = await open(browser, "without a store", NO_STORE);
  const kept = await page.evaluate("document.getElementById('kept').className");
  must(kept === "planned", "a browser that keeps nothing does not say so");
  await tap(page, `${0}/by/0`);
  await look(page, "without a store");

  // a visit that nobody made is that alone, with its reason
  await tap(page, "0/skip");
  must((await count(page)) > 0, "a visit that was not made is whole without a reason");
  await type(page, "0/skipped", "the gate was locked");
  await tap(page, "text");
  await writeFile(join(out, "not-made.csv"), await page.evaluate("document.querySelector('textarea').value"));
  await page.close();
  console.log(`tapped through ${plans.length} visits: ${given}`);
} catch (error) {
  faults.push(String(error?.stack ?? error));
} finally {
  await browser.close();
  await rm(profile, { recursive: true, force: true });
  await rm(pictures, { recursive: true, force: true });
}
for (const fault of faults) console.log(`FAULTY ${fault}`);
console.log(`${checks} checks, ${faults.length} faults`);
process.exit(faults.length === 0 ? 0 : 1);
