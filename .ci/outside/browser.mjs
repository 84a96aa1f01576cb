// Opens the pages in a real browser, at the width of a telephone and of a desk, in light and dark, with and without
// script, and on paper; axe-core looks at each. Then opens what the printed codes say.
//
//     node browser.mjs TOOLS SITE LINK...
//
// TOOLS holds node_modules with puppeteer-core and axe-core. SITE is the folder that `decant page` made; it is served as a
// plain static host does, on loopback alone. Each LINK is what a decoder read from a rendered certificate: its host is
// replaced by the local one, and the page it leads to must carry the number the link ends with. Exit 1 if anything is wrong.

import { createRequire } from "node:module";
import { createServer } from "node:http";
import { readFile, stat, mkdtemp, rm } from "node:fs/promises";
import { join, normalize, resolve } from "node:path";
import { tmpdir } from "node:os";

const [tools, site, ...links] = process.argv.slice(2);
const require = createRequire(resolve(tools, "package.json"));
const puppeteer = require("puppeteer-core");
const axe = await readFile(require.resolve("axe-core/axe.min.js"), "utf8");

const RULES = JSON.stringify({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] });
const TYPES = { html: "text/html", json: "application/json", pdf: "application/pdf" };
const faults = [];
let checks = 0;
const must = (holds, told) => {
  checks += 1;
  if (!holds) faults.push(told);
};

// A folder without its slash is sent there, a folder is answered with its index: no more than any static host does.
const server = createServer(async (request, response) => {
  const path = decodeURIComponent(new URL(request.url, "http://localhost").pathname);
  const file = join(resolve(site), normalize(path));
  try {
    const found = await stat(file);
    if (found.isDirectory() && !path.endsWith("/")) {
      response.writeHead(301, { location: `${path}/` }).end();
      return;
    }
    const whole = found.isDirectory() ? join(file, "index.html") : file;
    const bytes = await readFile(whole);
    response.writeHead(200, { "content-type": TYPES[whole.split(".").pop()] ?? "application/octet-stream" }).end(bytes);
  } catch {
    response.writeHead(404, { "content-type": "text/html" }).end("<!DOCTYPE html><title>404</title>");
  }
});
await new Promise((done) => server.listen(0, "127.0.0.1", done));
const home = `http://127.0.0.1:${server.address().port}`;

const profile = await mkdtemp(join(tmpdir(), "decant-chromium-"));
const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  userDataDir: profile,
  protocolTimeout: 30_000,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

// Opens a page; what it asks for beside itself, and what it complains of, is a fault.
async function open(url, view, told) {
  const page = await browser.newPage();
  await page.setViewport({ width: view.width, height: 900, isMobile: view.width < 500, hasTouch: view.width < 500 });
  await page.setJavaScriptEnabled(view.script);
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: view.scheme }]);
  await page.emulateMediaType(view.media);
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  page.on("console", (message) => must(false, `${told}: the console says ${message.text()}`));
  page.on("pageerror", (error) => must(false, `${told}: ${error}`));
  const answer = await page.goto(url, { waitUntil: "load" });
  must(answer.status() === 200, `${told}: ${answer.status()}`);
  const beside = asked.filter((it) => new URL(it).pathname.replace(/\/$/, "") !== new URL(url).pathname.replace(/\/$/, "") && !it.endsWith("/favicon.ico"));
  must(beside.length === 0, `${told}: asks for ${beside}`);
  return page;
}

function judge(found, told) {
  must(found.passes.length > 15, `${told}: axe-core looked at ${found.passes.length} rules only`);
  const where = (it) => it.nodes.map((node) => node.target.join(" ")).join(", ");
  for (const fault of found.violations) must(false, `${told}: ${fault.id}: ${fault.help}: ${where(fault)}`);
  // What axe cannot decide is not passed over. It cannot tell the colour behind drawn text, which is measured below, nor
  // behind cells that a narrow window has scrolled away, which it sees in the wide one.
  const elsewhere = (node) => /^<text|^<t[dh]/.test(node.html);
  for (const open of found.incomplete) {
    must(open.id === "color-contrast" && open.nodes.every(elsewhere), `${told}: undecided: ${open.id}: ${where(open)}`);
  }
}

// The least contrast of drawn text on the page's own colour, WCAG 2.2 "contrast ratio"; 21 where nothing is drawn.
const DRAWN = `Math.min(21, ...[...document.querySelectorAll("svg text")].map((it) => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[0-9.]+/g).map((c) => (c / 255 <= 0.03928 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05;
  };
  const [text, paper] = [light(getComputedStyle(it).fill), light(getComputedStyle(document.body).backgroundColor)];
  return Math.max(text, paper) / Math.min(text, paper);
}))`;

async function look(url, view) {
  const told = `${new URL(url).pathname} at ${view.width} px, ${view.scheme}, ${view.media}, script ${view.script ? "on" : "off"}`;
  const page = await open(url, view, told);
  const text = await page.evaluate("document.body.innerText");
  const wide = await page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth");
  must(wide <= 0, `${told}: ${wide} px wider than the window`);
  const drawn = await page.evaluate(DRAWN);
  must(drawn >= 4.5, `${told}: drawn text has a contrast of ${drawn}`);
  // axe-core is itself a script: without script there is the text to compare
  if (view.script) judge(await page.evaluate(`${axe}; axe.run(document, ${RULES})`), told);
  await page.close();
  return text;
}

// What the tab key reaches: what is folded away or not chosen is passed over.
const REACHED = `[...document.querySelectorAll("a[href], summary, [tabindex]")].filter((it) => it.checkVisibility())`;

// By the tab key every link is reached, in the order in which they stand, and each shows that it is.
async function keys(url) {
  const page = await open(url, { width: 1280, scheme: "light", media: "screen", script: true }, url);
  const wanted = await page.evaluate(`${REACHED}.length`);
  for (let at = 0; at < wanted; at += 1) {
    await page.keyboard.press("Tab");
    const here = await page.evaluate(`${REACHED}.indexOf(document.activeElement)`);
    const shown = await page.evaluate("getComputedStyle(document.activeElement).outlineStyle");
    must(here === at && shown !== "none", `${url}: tab ${at + 1} leads to ${here}, outline ${shown}`);
  }
  await page.close();
}

// The index shows the rows of one choice alone, and says which, with no script; axe-core looks at that too.
async function chooses(url) {
  const page = await open(url, { width: 360, scheme: "light", media: "screen", script: false }, url);
  const choices = await page.evaluate("[...document.querySelectorAll('.choices a')].map((it) => [it.getAttribute('href'), it.textContent])");
  await page.close();
  must(choices.length > 1, `${url}: nothing to choose`);
  for (const [href, label] of choices) {
    const view = { width: 360, scheme: "dark", media: "screen", script: true };
    const chosen = await open(url + href, view, url + href);
    const rows = await chosen.evaluate("[...document.querySelectorAll('tbody tr')].filter((it) => it.checkVisibility()).length");
    const said = await chosen.evaluate("document.querySelector('.chosen:target strong').innerText");
    must(label.endsWith(`(${rows})`) && said === label, `${url}${href}: ${rows} rows of ${label}, and it says ${said}`);
    judge(await chosen.evaluate(`${axe}; axe.run(document, ${RULES})`), url + href);
    await chosen.close();
  }
}

// A checker that passes a spoilt page has shown nothing about the sound ones.
async function noticesPlanted(url) {
  const page = await browser.newPage();
  await page.goto(url);
  await page.evaluate("document.documentElement.removeAttribute('lang'); document.querySelectorAll('svg title').forEach((it) => it.remove()); document.querySelectorAll('svg desc').forEach((it) => it.remove()); document.querySelector('p').style.color = '#ccc'; document.querySelector('p').style.background = '#fff'");
  const found = await page.evaluate(`${axe}; axe.run(document)`);
  const ids = found.violations.map((it) => it.id);
  for (const id of ["html-has-lang", "svg-img-alt", "color-contrast"]) must(ids.includes(id), `axe-core did not notice the planted ${id}`);
  await page.close();
}

try {
  const pages = links.map((link) => home + new URL(link).pathname);
  for (const url of [`${home}/`, ...pages]) {
    const texts = [];
    for (const width of [360, 1280]) {
      for (const scheme of ["light", "dark"]) {
        for (const script of [true, false]) texts.push(await look(url, { width, scheme, media: "screen", script }));
      }
    }
    await look(url, { width: 800, scheme: "dark", media: "print", script: true });
    must(texts.every((text) => text.length > 200), `${url}: hardly a word`);
    must(texts[0] === texts[1] && texts[4] === texts[5], `${url}: reads otherwise without script`);
    await keys(url);
  }
  for (const [at, url] of pages.entries()) {
    const page = await open(url, { width: 360, scheme: "light", media: "screen", script: false }, links[at]);
    const number = new URL(links[at]).pathname.split("/").filter(Boolean).pop().replace(/\.html?$/, "");
    must((await page.title()).includes(number), `${links[at]}: leads to '${await page.title()}'`);
    const downloads = await page.evaluate("[...document.querySelectorAll('a[download]')].map((it) => it.href)");
    must(downloads.length === 1, `${links[at]}: ${downloads.length} certificates to download`);
    for (const href of downloads) {
      const answer = await fetch(href);
      const start = Buffer.from(await answer.arrayBuffer()).subarray(0, 5).toString();
      must(answer.status === 200 && start === "%PDF-", `${href}: ${answer.status} '${start}'`);
    }
    await page.close();
    console.log(`opened ${links[at]}`);
  }
  await chooses(`${home}/`);
  await noticesPlanted(pages[0]);
} finally {
  await browser.close();
  server.close();
  await rm(profile, { recursive: true, force: true });
}
for (const fault of faults) console.log(`FAULTY ${fault}`);
console.log(`${checks} checks, ${faults.length} faults`);
process.exit(faults.length === 0 && links.length > 0 ? 0 : 1);
