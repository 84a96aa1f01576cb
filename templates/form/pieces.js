// Pieces of the page: buttons, entries, choices, moments.

function make(tag, attributes, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== undefined && value !== null) made.setAttribute(name, value);
  }
  made.append(...inside.flat().filter((it) => it !== null && it !== undefined && it !== ""));
  return made;
}

const idOf = (path) => `${visits.indexOf(visit())}/${path.join("/")}`;

// `of` says to whoever hears the page what the button is about; what is seen stands first in it.
function button(id, text, of, action, more) {
  const made = make("button", { type: "button", id, "aria-label": of ? `${text}, ${of}` : null, ...more }, text);
  made.addEventListener("click", action);
  return made;
}

function pressed(id, text, of, is, action) {
  return button(id, text, of, action, { "aria-pressed": String(is) });
}

function entry(path, caption, more) {
  const id = idOf(path);
  const input = make("input", { id, type: "text", value: held(path) ?? "", autocomplete: "off", maxlength: 300, ...more });
  const fault = make("p", { class: "fault", id: `${id}!` });
  const look = () => {
    const text = faultIn(input.value, more?.inputmode === "decimal");
    fault.textContent = text;
    if (text) input.setAttribute("aria-describedby", fault.id);
    else input.removeAttribute("aria-describedby");
    input.setAttribute("aria-invalid", String(text !== ""));
  };
  input.addEventListener("input", () => {
    type(path, input.value);
    // what is typed is no longer what was tapped
    for (const other of input.closest("fieldset")?.querySelectorAll('[aria-pressed="true"]') ?? []) other.setAttribute("aria-pressed", "false");
    look();
  });
  look();
  return make("div", { class: "entry" }, make("label", { for: id }, caption), input, fault);
}

function faultIn(text, isFigure) {
  const bad = text.match(new RegExp(`[^${given.printable}]`, "gu"));
  if (bad) return `${words.unprintable} ${[...new Set(bad)].join(" ")}`;
  return isFigure && text !== "" && !isNumber(text) ? `${words.again} ${text}` : "";
}

const isNumber = (text) => /^\d+([.,]\d+)?$/.test(text.trim());

// A moment: one button until it is tapped; then the time, to change or to take back.
function moment(path, key, of, ...also) {
  const [id, value] = [idOf(path), held(path)];
  if (value === undefined) {
    return make("div", { class: "row" }, button(id, NOW[key], of, () => tap([path, now()], ...also), { class: "tap" }));
  }
  const row = make("div", { class: "row done" }, make("p", null, `${NAMES[key]} `, make("strong", null, shown(value))));
  if (changing === id) {
    row.append(timeEntry(id, path, `${words.time}, ${NAMES[key]}, ${of}`), button(`${id}/done`, words.done, `${NAMES[key]}, ${of}`, () => {
      changing = "";
      draw();
    }));
  } else {
    row.append(button(id, words.change, `${NAMES[key]}, ${of}`, () => {
      changing = id;
      draw();
    }));
  }
  row.append(button(`${id}/undo`, words.undo, `${NAMES[key]}, ${of}`, () => tap([path, null], ...also.map(([other]) => [other, null]))));
  return row;
}

// A telephone tells of each turn of its wheels: all of them are one change, and nothing is drawn anew under the finger.
function timeEntry(id, path, name) {
  const [job, before] = [visit().job, held(path)];
  const input = make("input", { id, type: "datetime-local", step: "1", value: before.replace(" ", "T"), "aria-label": name });
  let noted = false;
  input.addEventListener("change", () => {
    const text = input.value.replace("T", " ");
    if (text.length < 16) return;
    if (!noted) state.undo = [...state.undo, { job, before: [[path, before]] }].slice(-MOST_UNDONE);
    noted = true;
    put(job, path, text.length === 16 ? `${text}:00` : text.slice(0, 19));
    keep();
    drawOpen();
  });
  return input;
}

// What is not asked of everybody is folded away, and stays open once it was opened.
const unfolded = new Set();

function more(id, ...inside) {
  const fold = make("details", { open: unfolded.has(id) }, make("summary", null, words.more), ...inside);
  fold.addEventListener("toggle", () => (fold.open ? unfolded.add(id) : unfolded.delete(id)));
  return fold;
}

function group(caption, ...inside) {
  return make("fieldset", null, make("legend", null, caption), ...inside);
}

// One of a list, or what is typed.
function choice(path, caption, list, other, of) {
  const value = held(path);
  const typed = !list.some((it) => it.value === value);
  const buttons = list.map((it, at) =>
    pressed(`${idOf(path)}/${at}`, it.shown, of, it.value === value, () => tap([path, it.value === value ? null : it.value])));
  const input = entry(path, list.length > 0 ? other : caption);
  if (!typed) input.querySelector("input").value = "";
  return list.length > 0 ? group(caption, make("div", { class: "choices" }, buttons), input) : input;
}

function reading(path, strip, of) {
  const value = held(path);
  const one = (list, kind) => list.map((it, at) =>
    pressed(`${idOf(path)}/${kind}${at}`, it.shown, of, it.value === value, () => tap([path, it.value === value ? null : it.value])));
  const found = [...strip.blocks, ...strip.between].find((it) => it.value === value);
  return group(
    `${words.reading}: ${strip.heading}`,
    make("p", { class: "soft" }, strip.how),
    make("p", { class: "soft" }, words.block),
    make("div", { class: "choices blocks" }, one(strip.blocks, "b")),
    make("p", { class: "soft" }, words.between),
    make("div", { class: "choices blocks" }, one(strip.between, "s")),
    found ? make("p", { class: found.passes ? "passes" : "fails", role: "status" }, found.passes ? words.passes : strip.fails) : null,
  );
}

// What a meter shows, with its error: it takes the place of the strip's blocks.
function meter(path, t, of) {
  const is = held([...path, "meter"]) === true;
  const blank = ["reading", "strip_lot", "figure", "error", "error_unit"].map((key) => [[...path, key], null]);
  const turn = pressed(`${idOf(path)}/meter`, words.meter, of, is, () => tap([[...path, "meter"], is ? null : true], ...blank));
  if (!is) return make("div", { class: "row" }, turn);
  const at = [...path, "error_unit"];
  const select = make("select", { id: idOf(at), "aria-label": `${words.unit}, ${words.error}, ${of}` },
    ERRORS.map((name) => make("option", { value: name, selected: name === (held(at) ?? ERRORS[0]) }, name)));
  select.addEventListener("change", () => tap([at, select.value]));
  return group(words.meter, make("div", { class: "row" }, turn), t.meter ? make("p", null, t.meter) : null,
    entry([...path, "figure"], words.figure, { inputmode: "decimal" }),
    make("div", { class: "amount" }, entry([...path, "error"], words.error, { inputmode: "decimal" }), select));
}

// The unit that stands first is the plan's, and is written down only with a figure.
function amounts(path, load, of) {
  const planned = load.amounts.map((it) => [it.key, it.planned.split(/ (.*)/s)]);
  const is = planned.every(([key, [figure, unit]]) => held([...path, key]) === figure && (held([...path, `${key}_unit`]) ?? "") === unit);
  const set = planned.flatMap(([key, [figure, unit]]) => [[[...path, key], is ? null : figure], [[...path, `${key}_unit`], is ? null : unit]]);
  const inside = load.amounts.map((it) => {
    const at = [...path, `${it.key}_unit`];
    const unit = unitOf(path, it);
    const id = idOf(at);
    const select = make("select", { id, "aria-label": `${words.unit}, ${fields[it.key]}, ${of}` },
      it.units.map((name) => make("option", { value: name, selected: name === unit }, name)));
    select.addEventListener("change", () => tap([at, select.value]));
    return make("div", { class: "amount" }, entry([...path, it.key], fields[it.key], { inputmode: "decimal" }), select);
  });
  return group(words.amounts, pressed(`${idOf(path)}/planned`, `${words.as_planned}: ${load.amounts.map((it) => it.planned).join(", ")}`, of, is, () => tap(...set)), inside);
}

const unitOf = (path, amount, job) => held([...path, `${amount.key}_unit`], job) ?? amount.planned.split(/ (.*)/s)[1];

// What was left out, with its reason; it takes the place of everything else of a load or an area.
function leftOut(path, caption, of) {
  return [
    make("p", null, make("strong", null, caption)),
    entry(path, words.why),
    button(`${idOf(path)}/undo`, words.undo, `${caption}, ${of}`, () => tap([path, null])),
  ];
}
