// The log as a table, and handing it over.

function rowsOf(it) {
  const { job } = it;
  const at = (path) => held(path, job);
  const rows = [];
  const add = (row) => rows.push({ job, ...row });
  const why = at(["skipped"]);
  for (const t of it.treatments) {
    const treatment = t.number;
    if (why !== undefined) {
      t.areas.forEach((area) => add({ what: "area", treatment, area: area.name, skipped: why }));
      continue;
    }
    for (const load of t.loads) {
      for (const id of ids(loadPath(t, load), job)) {
        const path = [...loadPath(t, load), id];
        const own = at(path);
        if (isBlank(own)) continue;
        const row = { what: "load", treatment, load: load.number };
        for (const key of ["mixed", "lot", "strip_lot", "reading", "by", "skipped"]) row[key] = own[key];
        if (own.figure) row.reading = `${figureOf(own.figure)} ppm`;
        if (own.error) row.instrument = `±${figureOf(own.error)} ${own.error_unit ?? ERRORS[0]}`;
        for (const it of load.amounts) if (own[it.key]) row[it.key] = `${figureOf(own[it.key])} ${unitOf(path, it, job)}`;
        add(row);
      }
    }
    t.areas.forEach((area, index) => {
      const own = at(areaPath(t, index));
      if (isBlank(own)) return;
      const row = { what: "area", treatment, area: area.name };
      for (const key of ["started", "finished", "wet_until", "skipped"]) row[key] = own[key];
      row.rewets = own.no_rewets ? "0" : Object.values(own.rewets ?? {}).sort().join("; ");
      row.rinsed = own.not_rinsed ? "no" : own.rinsed;
      if (Object.entries(row).some(([key, value]) => value && !["what", "treatment", "area"].includes(key))) add(row);
    });
  }
  if (why === undefined) ids(["checks"], job).forEach((id) => add({ what: "check", ...at(["checks", id]) }));
  for (const id of ids(["notes"], job)) {
    const { what, reason } = at(["notes", id]);
    if (what || reason) add({ what: "deviation", deviation: what, reason });
  }
  ids(["photographs"], job).forEach((id) => add({ what: "photograph", ...at(["photographs", id]) }));
  return rows;
}

// A figure as the log has it.
const figureOf = (figure) => figure.trim().replace(",", ".");

// No cell is a formula, and a mark at its beginning gets an apostrophe before it.
function cell(value) {
  const text = String(value ?? "");
  const plain = /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|^[\t\r\n]/.test(text) ? `'${text}` : text;
  return /[",;\r\n]/.test(plain) ? `"${plain.replaceAll('"', '""')}"` : plain;
}

function table() {
  const rows = visits.flatMap(rowsOf);
  const used = given.columns.filter((column) => ["job", "what"].includes(column) || rows.some((row) => (row[column] ?? "") !== ""));
  const lines = [used, ...rows.map((row) => used.map((column) => row[column]))];
  return rows.length > 0 ? lines.map((line) => `${line.map(cell).join(",")}\r\n`).join("") : "";
}

// With the mark that a spreadsheet knows UTF-8 by.
const file = () => new File(["\ufeff", table()], given.file, { type: "text/csv" });

function download(one) {
  const link = make("a", { href: URL.createObjectURL(one), download: one.name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

function drawSend() {
  const status = make("p", { role: "status" });
  const area = make("textarea", { readonly: true, rows: "8", "aria-label": words.copy });
  const text = make("div", { hidden: true }, make("p", null, words.copy), area);
  const unless = (action) => () => (table() === "" ? void (status.textContent = words.nothing) : action());
  const section = make("section", null, make("h2", null, words.send));
  const buttons = make("div", { class: "row" });
  buttons.append(button("save", words.save, null, unless(() => {
    download(file());
    status.textContent = `${words.saved} ${given.file}`;
  }), { class: "tap" }));
  if (navigator.canShare?.({ files: [file()] })) {
    buttons.append(button("share", words.share, null, unless(async () => {
      const all = [file(), ...pictures.values()];
      try {
        await navigator.share({ files: navigator.canShare({ files: all }) ? all : [file()] });
      } catch {
        // whoever closes the list of ways to send has not sent
      }
    }), { class: "tap" }));
  }
  buttons.append(button("text", words.as_text, null, unless(() => {
    text.hidden = false;
    area.value = table();
  })));
  section.append(buttons, status, text);
  return section;
}

function draw() {
  const focus = document.activeElement?.id;
  const bar = make("div", { class: "bar" },
    button("undo", words.undo, null, undo, { disabled: state.undo.length === 0 }),
    button("count", "", null, () => {
      document.getElementById("open").scrollIntoView();
      document.getElementById("open-head").focus({ preventScroll: true });
    }));
  main.replaceChildren(...drawVisit().filter((it) => it !== null), drawNotes(), drawPictures(), make("section", { id: "open" }), drawSend(), bar);
  drawOpen();
  if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
  tellKept();
}
