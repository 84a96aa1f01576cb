// The visit that is shown: its loads, areas, spots, notes and pictures.

const loadPath = (t, load) => ["loads", `${t.number}-${load.number}`];
const areaPath = (t, at) => ["areas", `${t.number}-${at}`];
const lastOf = (t, load, job) => ids(loadPath(t, load), job).pop() ?? "0";
const isBlank = (it) => Object.keys(it ?? {}).length === 0;
const isWorked = (job) => ["loads", "areas"].some((kind) => Object.values(held([kind], job) ?? {}).some((it) => !isBlank(it))) || !isBlank(held(["checks"], job));

function drawLoad(t, load) {
  const path = loadPath(t, load);
  const of = `${load.heading}, ${t.heading}`;
  const entries = ids(path).length > 0 ? ids(path) : ["0"];
  const card = make("section", { class: "card", id: idOf([...path, "card"]) }, make("h3", null, load.heading), make("p", null, load.mix));
  entries.forEach((id, at) => {
    const own = [...path, id];
    const last = at === entries.length - 1;
    const name = at > 0 ? `${of}, ${at + 1}` : of;
    if (at > 0) card.append(make("h4", null, words.mixed_again));
    if (held([...own, "skipped"]) !== undefined) {
      card.append(...leftOut([...own, "skipped"], words.not_mixed, name));
      return;
    }
    const by = held(["by"]);
    card.append(moment([...own, "mixed"], "mixed", name, ...(by ? [[[...own, "by"], by]] : [])));
    card.append(choice([...own, "lot"], fields.lot, t.lots, words.lot_other, name));
    const isMeter = held([...own, "meter"]) === true;
    if (t.strip && !isMeter) card.append(reading([...own, "reading"], t.strip, name));
    if (t.strip || isMeter) card.append(meter(own, t, name));
    const strip = t.strip && !isMeter ? choice([...own, "strip_lot"], fields.strip_lot, t.strip_lots, words.lot_other, name) : null;
    const isAsked = load.keys.includes("strip_lot");
    if (isAsked && strip) card.append(strip);
    card.append(more(idOf(own), isAsked ? null : strip, t.strip || isMeter ? null : meter(own, t, name), entry([...own, "by"], fields.by), amounts(own, load, name)));
    const buttons = [];
    if (at > 0) buttons.push(button(`${idOf(own)}/remove`, words.remove, `${words.mixed_again}, ${name}`, () => tap([own, null])));
    if (last && held([...own, "mixed"]) !== undefined) {
      buttons.push(button(`${idOf(path)}/again`, words.mixed_again, of, () => tap([[...path, number()], {}])));
    }
    if (isBlank(held(own)) && at === 0) {
      buttons.push(button(`${idOf(own)}/skip`, words.not_mixed, name, () => tap([[...own, "skipped"], ""])));
    }
    if (buttons.length > 0) card.append(make("div", { class: "row" }, buttons));
  });
  return card;
}

function drawArea(t, area, index) {
  const path = areaPath(t, index);
  const of = `${area.name}, ${t.heading}`;
  const card = make("section", { class: "card", id: idOf([...path, "card"]) }, make("h3", null, make("bdi", null, area.name)));
  card.append(...area.lines.map((line) => make("p", null, line)));
  if (held([...path, "skipped"]) !== undefined) {
    card.append(...leftOut([...path, "skipped"], words.not_treated, of));
    return card;
  }
  card.append(moment([...path, "started"], "started", of), moment([...path, "finished"], "finished", of));
  if (area.keys.includes("rewets")) {
    const again = [...path, "rewets"];
    card.append(...ids(again).map((id) => moment([...again, id], "rewets", of)));
    const none = held([...path, "no_rewets"]) === true;
    card.append(make("div", { class: "row" },
      none ? null : button(`${idOf(again)}/add`, words.now_rewets, of, () => tap([[...again, number()], now()]), { class: "tap" }),
      ids(again).length > 0 ? null : pressed(`${idOf(again)}/none`, words.not_rewetted, of, none, () => tap([[...path, "no_rewets"], none ? null : true]))));
  }
  card.append(moment([...path, "wet_until"], "wet_until", of));
  if (area.keys.includes("rinsed")) {
    const not = held([...path, "not_rinsed"]) === true;
    if (!not) card.append(moment([...path, "rinsed"], "rinsed", of));
    if (held([...path, "rinsed"]) === undefined) {
      card.append(make("div", { class: "row" }, pressed(`${idOf(path)}/not-rinsed`, words.not_rinsed, of, not, () => tap([[...path, "not_rinsed"], not ? null : true]))));
    }
  }
  card.append(drawSpots(t, area, index, of));
  const spots = ids(["checks"]).some((id) => isSpotOf(held(["checks", id]), t, area));
  if (isBlank(held(path)) && !spots) {
    card.append(make("div", { class: "row" }, button(`${idOf(path)}/skip`, words.not_treated, of, () => tap([[...path, "skipped"], ""]))));
  }
  return card;
}

const isSpotOf = (check, t, area) => check.treatment === t.number && check.area === area.name;

function drawSpots(t, area, index, of) {
  const own = ids(["checks"]).filter((id) => isSpotOf(held(["checks", id]), t, area));
  const each = own.map((id, at) => {
    const path = ["checks", id];
    const name = `${words.spot} ${at + 1}, ${of}`;
    // tapped again and again while it is wet: the last tap counts
    const still = held([...path, "seen_wet"]) === undefined ? null
      : make("div", { class: "row" }, button(`${idOf(path)}/still`, words.now_seen_wet, name, () => tap([[...path, "seen_wet"], now()]), { class: "tap" }));
    return make("div", { class: "spot", id: idOf([...path, "card"]) },
      entry([...path, "spot"], words.spot),
      moment([...path, "wetted"], "wetted", name), still, moment([...path, "seen_wet"], "seen_wet", name),
      make("div", { class: "row" }, button(`${idOf(path)}/remove`, words.remove, name, () => tap([path, null]))));
  });
  const add = button(`${idOf(["checks"])}/${t.number}-${index}`, words.add_spot, of,
    () => tap([["checks", number()], { treatment: t.number, area: area.name }]));
  return group(words.spots, each, add);
}

function drawNotes() {
  const each = ids(["notes"]).map((id, at) => {
    const path = ["notes", id];
    return make("div", { class: "card", id: idOf([...path, "card"]) }, entry([...path, "what"], words.what), entry([...path, "reason"], words.why),
      button(`${idOf(path)}/remove`, words.remove, `${words.what} ${at + 1}`, () => tap([path, null])));
  });
  return make("section", null, make("h2", null, words.notes), each,
    button(`${idOf(["notes"])}/add`, words.add_note, null, () => tap([["notes", number()], {}])));
}

function drawPictures() {
  const id = `${idOf(["photographs"])}/add`;
  const input = make("input", { id, type: "file", accept: "image/*", multiple: true });
  const fault = make("p", { class: "fault", role: "status" });
  input.addEventListener("change", async () => {
    for (const picture of [...input.files]) {
      try {
        await addPicture(picture);
      } catch {
        fault.textContent = `${words.photograph_fails}: ${picture.name}`;
        return;
      }
    }
    draw();
  });
  const each = ids(["photographs"]).map((number) => {
    const path = ["photographs", number];
    const { file, sha256 } = held(path);
    return make("div", { class: "card" }, make("p", null, make("strong", null, make("bdi", null, file)), make("br"), make("code", null, sha256.match(/.{8}/g).join(" "))),
      entry([...path, "shows"], words.shows), make("div", { class: "row" },
        // the very bytes that the digest is of, for as long as this page has them: a telephone may keep the picture in another form
        pictures.has(sha256) ? button(`${idOf(path)}/save`, words.save, file, () => download(pictures.get(sha256))) : null,
        button(`${idOf(path)}/remove`, words.remove, file, () => tap([path, null]))));
  });
  return make("section", null, make("h2", null, words.photographs), make("p", null, words.photograph_lead), each,
    make("div", { class: "entry" }, make("label", { for: id }, words.add_photograph), input), fault);
}

// Two pictures of one name, or a name that cannot be printed, are told apart by their digest.
async function addPicture(picture) {
  const sha256 = await digest(await picture.arrayBuffer());
  const all = ids(["photographs"]).map((id) => held(["photographs", id]));
  if (all.some((it) => it.sha256 === sha256)) return;
  const ending = picture.name.match(/\.[A-Za-z0-9]{1,5}$/)?.[0] ?? "";
  const isPlain = faultIn(picture.name, false) === "" && !/^[.]|[/\\]/.test(picture.name) && !all.some((it) => it.file === picture.name);
  const file = isPlain ? picture.name : `${sha256.slice(0, 16)}${ending}`;
  pictures.set(sha256, new File([picture], file, { type: picture.type }));
  tap([["photographs", number()], { file, sha256 }]);
}

function drawVisit() {
  const it = visit();
  const chosen = visits.length < 2 ? null : make("nav", { "aria-label": words.visit, class: "choices" },
    visits.map((other, at) => pressed(`visit/${at}`, `${other.job} · ${other.site}`, null, other === it, () => {
      state.visit = other.job;
      keep();
      draw();
    })));
  const by = held(["by"]);
  const who = group(words.who,
    make("div", { class: "choices" }, it.crew.map((name, at) => pressed(`${idOf(["by"])}/${at}`, name, null, by === name, () => tap([["by"], by === name ? null : name])))),
    entry(["by"], words.other));
  if (it.crew.includes(by)) who.querySelector("input").value = "";
  const head = make("section", null, make("h2", null, make("bdi", null, it.site)), make("p", null, it.job, ...it.lines.flatMap((line) => [make("br"), line])));
  const parts = [chosen, make("p", { class: "lead" }, words.lead), head];
  if (held(["skipped"]) !== undefined) {
    head.append(...leftOut(["skipped"], words.not_made, it.site));
    return parts;
  }
  head.append(who);
  if (!isWorked(it.job)) {
    head.append(make("div", { class: "row" }, button(`${idOf([])}skip`, words.not_made, null, () => tap([["skipped"], ""]))));
  }
  for (const t of it.treatments) {
    parts.push(make("section", null, make("h2", null, t.heading), make("p", { class: "soft" }, t.title),
      t.loads.map((load) => drawLoad(t, load)), t.areas.map((area, at) => drawArea(t, area, at))));
  }
  return parts;
}
