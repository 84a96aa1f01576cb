// What is still to be written down, over all visits.

// A meter has no lot of strips, and a figure without its error is no reading.
function isNoted(own, key) {
  if (own?.meter !== true || !["reading", "strip_lot"].includes(key)) return Boolean(own?.[key]);
  return key === "strip_lot" || (isNumber(own.figure ?? "") && isNumber(own.error ?? ""));
}

function openOf(it) {
  const { job } = it;
  const found = [];
  const say = (where, keys, path) => keys.length > 0 && found.push({ job, text: `${where}: ${keys.map((key) => NAMES[key]).join(", ")}`, path });
  const at = (path) => held(path, job);
  const isReason = (text) => /\p{L}/u.test(text ?? "") && !given.no_reason.includes(text.trim().toLowerCase());
  const reason = (text) => (isReason(text) ? [] : ["reason"]);
  if (at(["skipped"]) !== undefined) {
    say(words.not_made, reason(at(["skipped"])), ["skipped"]);
  } else {
    for (const t of it.treatments) {
      for (const load of t.loads) {
        const own = at([...loadPath(t, load), lastOf(t, load, job)]);
        const lacking = own?.skipped === undefined ? load.keys.filter((key) => !isNoted(own, key)) : reason(own.skipped);
        say(`${t.heading}, ${load.heading}`, lacking, [...loadPath(t, load), "card"]);
      }
      t.areas.forEach((area, index) => {
        const own = at(areaPath(t, index)) ?? {};
        const has = { ...own, rewets: own.no_rewets || !isBlank(own.rewets), rinsed: own.not_rinsed || own.rinsed };
        const lacking = own.skipped === undefined ? area.keys.filter((key) => !has[key]) : reason(own.skipped);
        say(`${t.heading}, ${area.name}`, lacking, [...areaPath(t, index), "card"]);
      });
    }
    for (const id of ids(["checks"], job)) {
      const check = at(["checks", id]);
      say(`${words.spot}, ${check.area}`, ["spot", "wetted", "seen_wet"].filter((key) => !check[key]), ["checks", id, "card"]);
    }
  }
  for (const id of ids(["notes"], job)) {
    const note = at(["notes", id]);
    say(words.notes, ["what", "reason"].filter((key) => !note[key]), ["notes", id, "card"]);
  }
  return found;
}

function drawOpen() {
  const found = visits.flatMap(openOf);
  const list = document.getElementById("open");
  const items = found.map(({ job, text, path }, at) => make("li", null, button(`open/${at}`, visits.length > 1 ? `${job}: ${text}` : text, null, () => {
    state.visit = job;
    draw();
    document.getElementById(idOf(path))?.scrollIntoView();
  }, { class: "link" })));
  list.replaceChildren(make("h2", { id: "open-head", tabindex: "-1" }, words.open), found.length > 0 ? make("ul", null, items) : make("p", null, given.nothing_open));
  document.getElementById("count").textContent = `${words.open}: ${found.length}`;
}
