//! Reading the as-applied log, from YAML or from a spreadsheet's table.

use std::io::Read;
use std::path::{Component, Path};
use std::sync::Arc;

use jiff::civil::DateTime;
use sha2::{Digest, Sha256};

use super::applied::leads_out;
use super::applied::{Applied, AppliedArea, AppliedCheck, AppliedLoad, Deviation, Photograph};
use super::applied_words::{read_reading, read_skipped};
use super::visit::read_moment;
use crate::calc::Amount;
use crate::digest::hex;
use crate::input;
use crate::quantity::{QuantityError, parse, range};
use crate::report::Report;
use crate::yaml::{self, BadMoment, Fields, Node, Source, TableShape};

const KEYS: &[&str] = &["loads", "areas", "checks", "deviations", "photographs", "revision", "replaces"];

/// Revisions of one job, at most.
const MOST_REVISIONS: u32 = 999;

const LOAD: &[&str] =
    &["treatment", "load", "lot", "strip_lot", "mixed", "by", "water", "product", "reading", "instrument", "skipped"];

const AREA: &[&str] = &["treatment", "area", "started", "finished", "rewets", "wet_until", "rinsed", "skipped"];

const CHECK: &[&str] = &["treatment", "area", "spot", "wetted", "seen_wet"];

/// One table for the whole visit: a row for each load, area, check, deviation and photograph.
const TABLE: TableShape = TableShape {
    what: "what",
    rows: &[
        ("load", Some("loads")),
        ("area", Some("areas")),
        ("check", Some("checks")),
        ("deviation", Some("deviations")),
        ("photograph", Some("photographs")),
        ("revision", None),
    ],
    columns: &[
        "treatment",
        "load",
        "area",
        "lot",
        "strip_lot",
        "mixed",
        "by",
        "water",
        "product",
        "reading",
        "instrument",
        "started",
        "finished",
        "rewets",
        "wet_until",
        "rinsed",
        "spot",
        "wetted",
        "seen_wet",
        "skipped",
        "deviation",
        "reason",
        "file",
        "sha256",
        "shows",
        "revision",
        "replaces",
    ],
    renamed: &[("deviation", "deviation", "what")],
};

/// Whether a file is a log, however faulty: it can be read and has one of a log's keys or columns.
pub(super) fn is_log(file: &Path) -> bool {
    source(file, &mut Report::new()).is_some_and(|source| KEYS.iter().any(|key| source.holds(&[key])))
}

fn source(file: &Path, report: &mut Report) -> Option<Arc<Source>> {
    if file.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
        Source::read_table(file, &TABLE, report)
    } else {
        Source::read(file, report)
    }
}

pub(super) fn read(file: &Path, report: &mut Report) -> Option<Applied> {
    let source = source(file, report)?;
    let fields = source.root().fields(KEYS, report)?;
    let loads = each(&fields, "loads", report, read_load);
    let areas = each(&fields, "areas", report, read_area);
    let checks = each(&fields, "checks", report, read_check);
    let deviations = each(&fields, "deviations", report, read_deviation);
    let photographs = each(&fields, "photographs", report, |node, report| read_photograph(node, &source, report));
    let (revision, replaces) = read_revision(&fields, report)?;
    Some(Applied { source: source.clone(), loads, areas, checks, deviations, photographs, revision, replaces })
}

fn each<T>(
    fields: &Fields<'_>,
    key: &str,
    report: &mut Report,
    read: impl Fn(&Node<'_>, &mut Report) -> Option<T>,
) -> Vec<T> {
    let items = fields.get(key).and_then(|n| n.items(report)).unwrap_or_default();
    items.iter().filter_map(|n| read(n, report)).collect()
}

fn read_load(node: &Node<'_>, report: &mut Report) -> Option<AppliedLoad> {
    let fields = node.fields(LOAD, report)?;
    let treatment = fields.get("treatment").map_or(Some(1), |n| read_position(&n, report));
    let load = fields.need("load", report).and_then(|n| read_position(&n, report));
    let mixed = fields.get("mixed").and_then(|n| read_moment(&n, report));
    let reading = read_reading(&fields, report);
    let water = fields.get("water").and_then(|n| n.within(report, &range::LOGGED_WATER));
    let product = fields.get("product").and_then(|n| n.parse(report, amount));
    let (lot, strip_lot) = (fields.text("lot", report), fields.text("strip_lot", report));
    let by = fields.text("by", report);
    let skipped = read_skipped(&fields, report);
    if skipped.is_some() && (mixed.is_some() || reading.is_some()) {
        report.push(node.error("skipped-and-done", "this was skipped and yet has a time or a reading"));
    }
    Some(AppliedLoad {
        treatment: treatment?,
        load: load?,
        lot,
        strip_lot,
        mixed,
        by,
        water,
        product,
        reading,
        skipped,
        origin: node.origin(),
    })
}

fn read_area(node: &Node<'_>, report: &mut Report) -> Option<AppliedArea> {
    let fields = node.fields(AREA, report)?;
    let treatment = fields.get("treatment").map_or(Some(1), |n| read_position(&n, report));
    let name = fields.need_text("area", report);
    let not_rinsed = fields
        .get("rinsed")
        .is_some_and(|n| n.text(&mut Report::new()).is_some_and(|t| matches!(t.as_str(), "no" | "false")));
    let mut moment = |key: &str| fields.get(key).and_then(|n| read_moment(&n, report));
    let (started, finished, wet_until) = (moment("started"), moment("finished"), moment("wet_until"));
    let rinsed = if not_rinsed { None } else { moment("rinsed") };
    let (rewets, rewet_at) = match fields.get("rewets") {
        Some(n) => read_rewets(&n, report).map_or((None, Vec::new()), |(count, at)| (Some(count), at)),
        None => (None, Vec::new()),
    };
    let skipped = read_skipped(&fields, report);
    let mut backwards = |from: Option<DateTime>, to: Option<DateTime>, key: &str| {
        if let (Some(from), Some(to)) = (from, to)
            && to < from
        {
            report.push(node.origin().key(key).error("times-backwards", "this ends before it begins"));
        }
    };
    backwards(started, finished, "finished");
    backwards(started, rewet_at.iter().min().copied(), "rewets");
    backwards(finished, rinsed, "rinsed");
    if skipped.is_some() && (started.is_some() || finished.is_some()) {
        report.push(node.error("skipped-and-done", "this was skipped and yet has a time"));
    }
    Some(AppliedArea {
        treatment: treatment?,
        name: name?,
        started,
        finished,
        rewets,
        rewet_at,
        wet_until,
        rinsed,
        not_rinsed,
        skipped,
        origin: node.origin(),
    })
}

fn read_check(node: &Node<'_>, report: &mut Report) -> Option<AppliedCheck> {
    let fields = node.fields(CHECK, report)?;
    let treatment = fields.get("treatment").map_or(Some(1), |n| read_position(&n, report));
    let (area, spot) = (fields.need_text("area", report), fields.need_text("spot", report));
    let wetted = fields.need("wetted", report).and_then(|n| read_moment(&n, report));
    let seen_wet = fields.need("seen_wet", report).and_then(|n| read_moment(&n, report));
    if let (Some(wetted), Some(seen_wet)) = (wetted, seen_wet)
        && seen_wet < wetted
    {
        let problem = node.origin().key("seen_wet");
        report.push(problem.error("times-backwards", "this ends before it begins"));
    }
    Some(AppliedCheck {
        treatment: treatment?,
        area: area?,
        spot: spot?,
        wetted: wetted?,
        seen_wet: seen_wet?,
        origin: node.origin(),
    })
}

/// How often, or the moments: a list, or in a table's cell several with semicolons between them.
fn read_rewets(node: &Node<'_>, report: &mut Report) -> Option<(u32, Vec<DateTime>)> {
    if node.is_scalar() {
        let text = node.text(report)?;
        if text.chars().all(|c| c.is_ascii_digit()) {
            let count = node.parse(report, parse::count)?;
            return Some((count, Vec::new()));
        }
        let read: Result<Vec<DateTime>, BadMoment> = text.split(';').map(|m| yaml::moment(m.trim())).collect();
        if matches!(read, Err(BadMoment::Offset(..) | BadMoment::Year(_))) {
            // In the words of the moment itself.
            node.parse(report, |_| read)?;
            return None;
        }
        let moments = read.ok();
        if moments.is_none() {
            let hint = "write how often (`2`), or each time, such as `2026-04-13T18:20; 2026-04-13T18:26`";
            report.push(node.error("bad-rewets", format!("`{text}` is neither a count nor times")).hint(hint));
        }
        return moments.map(|m| (m.len() as u32, m));
    }
    let items = node.items(report)?;
    let moments: Vec<DateTime> = items.iter().filter_map(|n| read_moment(n, report)).collect();
    Some((moments.len() as u32, moments))
}

fn read_deviation(node: &Node<'_>, report: &mut Report) -> Option<Deviation> {
    let fields = node.fields(&["what", "reason"], report)?;
    let (what, reason) = (fields.need_text("what", report), fields.need_text("reason", report));
    Some(Deviation { what: what?, reason: reason? })
}

/// The digest is worked out from the file; one that is written must be the same, so that a picture cannot be swapped later.
fn read_photograph(node: &Node<'_>, source: &Source, report: &mut Report) -> Option<Photograph> {
    let fields = node.fields(&["file", "sha256", "shows"], report)?;
    let shows = fields.text("shows", report);
    let written = match fields.get("sha256") {
        Some(n) => Some((read_digest(&n, report)?, n)),
        None => None,
    };
    let named = fields.need("file", report)?;
    let file = named.text(report)?;
    if !Path::new(&file).components().all(|c| matches!(c, Component::Normal(_))) {
        let hint = "name a file in the log's folder, or in a folder below it";
        report.push(named.error("bad-photograph", format!("`{file}` leads out of the log's folder")).hint(hint));
        return None;
    }
    if leads_out(source.file(), &source.beside(&file)) {
        let problem = named.error("bad-photograph", format!("`{file}` is a link that leads out of the log's folder"));
        report.push(problem.hint("put the photograph itself beside the log"));
        return None;
    }
    let sha256 = match digest_of(&source.beside(&file)) {
        Ok(digest) => digest,
        Err(e) => {
            let hint = "photographs lie beside the log; only their digests go into the record";
            report.push(named.error("photograph-unreadable", format!("cannot read `{file}`: {e}")).hint(hint));
            return None;
        }
    };
    if let Some((written, at)) = written.filter(|(written, _)| *written != sha256) {
        let message = format!("`{file}` is not the file that this digest was taken of");
        let problem = at.error("photograph-differs", message).hint(format!("written: {written}"));
        report.push(problem.hint(format!("the file's: {sha256}")));
        return None;
    }
    Some(Photograph { file, sha256, shows })
}

fn digest_of(file: &Path) -> std::io::Result<String> {
    let mut file = input::open(file)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        match file.read(&mut buffer)? {
            0 => break,
            n => hasher.update(&buffer[..n]),
        }
    }
    Ok(hex(&hasher.finalize()))
}

/// `revision` and `replaces`: the second and later ones name the record they take the place of.
fn read_revision(fields: &Fields<'_>, report: &mut Report) -> Option<(u32, Option<String>)> {
    let revision = match fields.get("revision") {
        None => 1,
        Some(n) => {
            let count = n.parse(report, parse::count)?;
            if !(1..=MOST_REVISIONS).contains(&count) {
                report.push(n.error("bad-revision", format!("a revision is a number from 1 to {MOST_REVISIONS}")));
                return None;
            }
            count
        }
    };
    let replaces = match fields.get("replaces") {
        None => None,
        Some(n) => Some(read_digest(&n, report)?),
    };
    if (revision > 1) != replaces.is_some() {
        let (message, hint) = if revision > 1 {
            (
                format!("revision {revision} does not say which record it replaces"),
                "give `replaces`, the SHA-256 of the record before; `decant verify` prints it",
            )
        } else {
            (
                "`replaces` stands here, and this is the first revision".to_owned(),
                "give `revision: 2`, or take `replaces` out",
            )
        };
        report.push(fields.node().error("bad-revision", message).hint(hint));
        return None;
    }
    Some((revision, replaces))
}

fn read_digest(node: &Node<'_>, report: &mut Report) -> Option<String> {
    let text = node.text(report)?.replace(' ', "").to_ascii_lowercase();
    if text.len() != 64 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
        let problem = node.error("bad-digest", "this is no SHA-256 digest");
        report.push(problem.hint("write its 64 hexadecimal digits, with or without spaces between groups"));
        return None;
    }
    Some(text)
}

fn read_position(node: &Node<'_>, report: &mut Report) -> Option<usize> {
    let text = node.text(report)?;
    let position = text.parse::<usize>().ok().filter(|p| (1..=1_000).contains(p));
    if position.is_none() {
        report.push(node.error("bad-count", format!("`{text}` is not a position (1, 2, 3 …)")));
    }
    position
}

/// `12.5 fl oz`, `40 g` or `3 tablets`. Whether it suits the product is seen when the log is held against the plan.
fn amount(text: &str) -> Result<Amount, QuantityError> {
    if let Some(count) = text.strip_suffix("tablets").or_else(|| text.strip_suffix("tablet")) {
        return parse::number(count.trim()).map(Amount::Tablets);
    }
    match parse::volume(text) {
        Ok(volume) => Ok(Amount::Liquid(volume)),
        Err(not_a_volume) => parse::mass(text).map(Amount::Powder).map_err(|_| not_a_volume),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Number;

    #[test]
    fn amounts_are_read_by_their_unit() {
        assert_eq!(amount("3 tablets").expect("a count"), Amount::Tablets(Number::int(3)));
        assert!(matches!(amount("12 fl oz"), Ok(Amount::Liquid(_))));
        assert!(matches!(amount("40 g"), Ok(Amount::Powder(_))));
        assert!(amount("40").is_err());
    }

    #[test]
    fn a_table_and_yaml_say_the_same() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let yaml = "revision: 2\nreplaces: 00000000000000000000000000000000000000000000000000000000000000ff\n\
                    loads: [{ treatment: 2, load: 1, lot: A-1, mixed: 2026-04-13T18:08, water: 2 gal, product: 4 fl oz, reading: 700 ppm, instrument: ±5 % }]\n\
                    areas: [{ area: Hall, started: 2026-04-13T18:12, finished: 2026-04-13T18:20, rewets: [2026-04-13T18:25, 2026-04-13T18:29], wet_until: 2026-04-13T18:31, rinsed: no }]\n\
                    checks: [{ area: Hall, spot: by the door, wetted: 2026-04-13T18:13, seen_wet: 2026-04-13T18:31 }]\n\
                    deviations: [{ what: late, reason: \"rain, then fog\" }]\n";
        let csv = "what,treatment,load,area,lot,mixed,water,product,reading,instrument,started,finished,rewets,wet_until,rinsed,spot,wetted,seen_wet,deviation,reason,revision,replaces\n\
                   load,2,1,,A-1,2026-04-13 18:08,2 gal,4 fl oz,700 ppm,±5 %,,,,,,,,,,,,\n\
                   area,,,Hall,,,,,,,2026-04-13 18:12,2026-04-13 18:20,2026-04-13 18:25; 2026-04-13 18:29,2026-04-13 18:31,no,,,,,,,\n\
                   check,,,Hall,,,,,,,,,,,,by the door,2026-04-13 18:13,2026-04-13 18:31,,,,\n\
                   deviation,,,,,,,,,,,,,,,,,,late,\"rain, then fog\",,\n\
                   revision,,,,,,,,,,,,,,,,,,,,2,00000000000000000000000000000000000000000000000000000000000000ff\n";
        let read = |name: &str, text: &str| {
            let file = folder.path().join(name);
            std::fs::write(&file, text).expect("the log can be written");
            let mut report = Report::new();
            let log = Applied::read(&file, &mut report).unwrap_or_else(|| panic!("{report}"));
            assert_eq!(report.to_string(), "");
            assert_eq!((log.revision, log.replaces.as_ref().map(String::len)), (2, Some(64)));
            serde_json::to_value(&log).expect("a log is JSON")
        };
        assert_eq!(read("a.yaml", yaml), read("a.csv", csv));
    }
}
