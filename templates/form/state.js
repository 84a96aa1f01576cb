// The form for the crew's telephone. It shows the plan's texts, notes what is tapped, and gives the log as a table. It works nothing
// out, asks the network for nothing, and writes down nothing that nobody tapped. Text is set as text, never as markup.
//
// One script of several files, each within the same function: `html/mod.rs` puts them together. Here: what was tapped, and the browser
// that keeps it.

const given = JSON.parse(document.getElementById("given").textContent);
const { words, fields, visits } = given;
const main = document.getElementById("main");
const kept = document.getElementById("kept");
const FORM = 1;
const MOST_UNDONE = 100;
const ERRORS = ["%", "ppm"];
const NOW = {
  mixed: words.now_mixed, started: words.now_started, finished: words.now_finished, rewets: words.now_rewets,
  wet_until: words.now_wet_until, rinsed: words.now_rinsed, wetted: words.now_wetted, seen_wet: words.now_seen_wet,
};
const NAMES = { ...fields, wetted: words.wetted, seen_wet: fields.wet_until, spot: words.spot, what: words.what, reason: words.why };

let state = { form: FORM, next: 1, visit: visits[0].job, visits: {}, undo: [] };
let store = null;
let told = words.not_kept;
let changing = "";
const pictures = new Map();

function open() {
  try {
    const box = window.localStorage;
    box.setItem(`${given.key} try`, "1");
    box.removeItem(`${given.key} try`);
    store = box;
  } catch {
    return;
  }
  take(store.getItem(given.key));
}

// What this page cannot read is left as it is: it may be the only log of a night.
function take(text) {
  if (text === null) return;
  try {
    const was = JSON.parse(text);
    if (was.form !== FORM || !was.visits || !Array.isArray(was.undo)) throw new Error("another form");
    state = was;
  } catch {
    store = null;
    told = words.not_read;
  }
}

function keep() {
  try {
    store?.setItem(given.key, JSON.stringify(state));
  } catch {
    store = null;
  }
  tellKept();
}

function tellKept() {
  const text = store ? words.kept : told;
  if (kept.textContent !== text) kept.textContent = text;
  kept.className = store ? "soft" : "planned";
}

const visit = () => visits.find((it) => it.job === state.visit) ?? visits[0];
const held = (path, job = visit().job) => path.reduce((it, key) => it?.[key], state.visits[job]);
const ids = (path, job) => Object.keys(held(path, job) ?? {}).sort((a, b) => a - b);

function put(job, path, value) {
  const within = path.slice(0, -1).reduce((it, key) => (it[key] ??= {}), (state.visits[job] ??= {}));
  const last = path[path.length - 1];
  const before = within[last] ?? null;
  if (value === null) delete within[last];
  else within[last] = value;
  return before;
}

// One tap, which may change several things and is undone as one.
function tap(...changes) {
  const { job } = visit();
  const before = changes.map(([path, value]) => [path, put(job, path, value)]);
  state.undo = [...state.undo, { job, before }].slice(-MOST_UNDONE);
  changing = "";
  keep();
  draw();
}

function undo() {
  const last = state.undo.pop();
  if (!last) return;
  state.visit = last.job;
  for (const [path, value] of last.before.reverse()) put(last.job, path, value);
  keep();
  draw();
}

// Typing is no tap: it is mended by typing.
function type(path, text) {
  put(visit().job, path, text === "" ? null : text);
  keep();
  drawOpen();
}

function number() {
  state.next += 1;
  return String(state.next - 1);
}

// Seconds count: a contact time that is short by half a minute is too short.
function now() {
  const at = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;
}

const shown = (moment) => (moment.slice(0, 10) === now().slice(0, 10) ? moment.slice(11, 16) : moment.slice(0, 16));
