//! What may stand in a contract file, for schema and manual. A key that goes into the jobs as it is has the job's declaration;
//! the names are those that the readers take.

use super::columns::{self, COLUMNS};
use super::{KEYS, expand, routes, site, visits};
use crate::job::JobKeys;
use crate::yaml::{Declared, Group, Key, Line, Presence, Shape};

/// A contract file.
pub fn shape() -> Shape {
    let own = vec![
        required(
            "contract",
            "Its number: at most 24 letters, digits, `-`, `_` and `.`. Example: `HB-2026`",
            line("a contract's number"),
        ),
        optional(
            "until",
            "The last day; a rule that ends of itself needs none. Example: `2026-09-30`",
            line("a date (year-month-day)"),
        ),
        Key {
            presence: Presence::Default("{site}-{date}"),
            ..optional(
                "job_number",
                "The pattern of job numbers. `{contract}`, `{site}`, `{date}` and `{time}` are filled in. Example: `\"{site}-{date}-{time}\"`",
                line("text"),
            )
        },
        optional("logs", "The folder of service logs, each named as its job. Example: `logs`", line("text")),
        optional("kinds", "Kinds of sites, by name: what is done at each site of the kind.", by_key(kind())),
        optional("site_table", "A table of sites: CSV, TSV or XLSX.", site_table()),
        optional(
            "sites",
            "Sites by their keys, which head job numbers; what stands here goes before the table.",
            by_key(of_site()),
        ),
        optional("routes", "Routes by their keys, in the order of a day: what one van does.", by_key(route())),
        required("visits", "When which sites are visited: one group, or a list of groups.", one_or_list(visit_group())),
        optional("holidays", "Days without visits. Listed dates are not moved.", holidays()),
    ];
    let about = "A contract: many sites and visits, expanded into a job for each visit.";
    group("ContractKeys", about, &[KEYS, site::DEFAULTS].concat(), own)
}

fn kind() -> Shape {
    group("Kind", "What is done at sites of one kind.", &site::of_a_kind(), of_work())
}

fn of_site() -> Shape {
    let mut own = of_work();
    own.extend([
        optional(
            "postcode",
            "The postal code, put behind the address; in quotes where it begins with 0. Example: `\"00417\"`",
            line("text"),
        ),
        optional(
            "kind",
            "One of `kinds`; without it the site needs `treatments` of its own. Example: `terminal`",
            line("text"),
        ),
        optional("route", "The route it is on, by its key. Example: `north`", line("text")),
        optional("order", "Its place in the route. Example: `3`", Shape::Count { least: 0, most: 1_000_000 }),
        optional("start", "When a visit begins, in the site's own time. Example: `\"18:00\"`", line("a time of day")),
    ]);
    group("ContractSite", "A site of the contract.", &[site::SITE, site::WORK, site::DEFAULTS].concat(), own)
}

/// What a site or its kind says of the work.
fn of_work() -> Vec<Key> {
    let area = match of_job("", "areas").map(|key| key.shape) {
        Some(Shape::ByKey { of, .. }) => *of,
        _ => line("text"),
    };
    let none = Shape::Words(&[("none", "the site has no such area")]);
    vec![
        optional(
            "areas",
            "By name: what is treated; sizes may come from the table.",
            by_key(Shape::Either(vec![area, none])),
        ),
        optional(
            "takes",
            "How long the visit takes, with the way to the next site. Example: `45 min`",
            line("a time (min, h)"),
        ),
    ]
}

fn route() -> Shape {
    let own = vec![
        optional("start", "When the first visit of a day begins. Example: `\"22:30\"`", line("a time of day")),
        optional(
            "takes",
            "How long one site takes, with the way to the next. Example: `75 min`",
            line("a time (min, h)"),
        ),
    ];
    group("Route", "Sites that one van visits in turn.", routes::KEYS, own)
}

fn site_table() -> Shape {
    let own = vec![
        required("file", "The table, found from this file's folder. Example: `sites.csv`", line("text")),
        optional("sheet", "The sheet, where a workbook has several. Example: `Sites 2026`", line("text")),
        Key {
            presence: Presence::Default("1"),
            ..optional("header", "The row of the headings.", Shape::Count { least: 1, most: 1_000 })
        },
        optional(
            "separator",
            "What stands between fields, where the file's name does not say.",
            Shape::Words(&[("comma", ""), ("semicolon", ""), ("tab", "")]),
        ),
        required("columns", "Which column holds what of a site.", all_columns()),
    ];
    group("SiteTable", "A table of sites.", columns::TABLE, own)
}

fn all_columns() -> Shape {
    let column = || {
        let own = vec![
            required("column", "Its heading. Example: `Counters`", line("text")),
            optional("unit", "The unit of bare figures. Example: `ft2`", line("a unit")),
        ];
        let named = group("Column", "A column whose figures have one unit.", columns::COLUMN, own);
        Shape::Either(vec![one_or_list(line("a heading")), named])
    };
    let of = |of: &str, name, about| {
        let keys = COLUMNS.iter().filter(|(group, ..)| *group == of);
        let keys = keys.map(|(_, key, _)| optional(key, "The column that holds it.", column())).collect();
        Group { name, about, keys }
    };
    let mut all = of("", "Columns", "The columns of a site, by their headings.");
    all.keys[0].presence = Presence::Required;
    let areas = by_key(Shape::Group(of("areas", "AreaColumns", "The columns of an area.")));
    all.keys.push(optional("areas", "By name: the columns of each area.", areas));
    for (key, name, about) in [
        ("air", "AirColumns", "The columns of the air expected there."),
        ("water", "WaterColumns", "The columns of the water."),
    ] {
        all.keys.push(optional(key, about, Shape::Group(of(key, name, about))));
    }
    Shape::Group(all)
}

fn visit_group() -> Shape {
    let own = vec![
        optional(
            "rule",
            "A recurrence rule as calendars have it (RFC 5545), in days. Example: `FREQ=WEEKLY;INTERVAL=2;BYDAY=MO`",
            line("a rule"),
        ),
        optional("from", "The first day, which the rule names. Example: `2026-04-13`", line("a date (year-month-day)")),
        optional(
            "on",
            "In the place of a rule: dates, each with a time or without. Example: `[2026-04-13, 2026-04-20T05:15]`",
            one_or_list(line("a date")),
        ),
        optional(
            "start",
            "When they begin, where neither site nor route says so. Example: `\"18:00\"`",
            line("a time of day"),
        ),
        optional("sites", "Only these sites. Example: `[gull, light]`", one_or_list(line("text"))),
        optional("kinds", "Only sites of these kinds. Example: `terminal`", one_or_list(line("text"))),
        optional("routes", "Only sites on these routes. Example: `north`", one_or_list(line("text"))),
    ];
    group("Visits", "A group of visits: either by a rule or on listed dates.", visits::KEYS, own)
}

fn holidays() -> Shape {
    let then = &[("skip", "the visit is left out"), ("next-working-day", "it is made on the next working day")];
    let days = &[("mo", ""), ("tu", ""), ("we", ""), ("th", ""), ("fr", ""), ("sa", ""), ("su", "")];
    let dates = Shape::List { of: Box::new(line("a date (year-month-day)")), or_one: false };
    let own = vec![
        required("days", "The days. Example: `[2026-05-25]`", dates),
        required("then", "What becomes of a visit that a rule puts on one.", Shape::Words(then)),
        Key {
            presence: Presence::Default("[mo, tu, we, th, fr]"),
            ..optional("working_days", "The days on which it may be made.", one_or_list(Shape::Words(days)))
        },
    ];
    group("Holidays", "Days without visits.", visits::HOLIDAYS, own)
}

/// The keys of these names: the contract's own, or else as the job declares them.
fn group(name: &'static str, about: &'static str, names: &[&'static str], mut own: Vec<Key>) -> Shape {
    let key = |name: &&'static str| match own.iter().position(|key| key.name == *name) {
        Some(at) => Some(own.swap_remove(at)),
        None => {
            let of_all = ["company", "client"].iter().find(|of| **of == *name).and_then(|of| of_job("", of));
            of_all.or_else(|| {
                let (group, key) = expand::KEYS.iter().find(|(_, key)| key == name)?;
                let key = of_job(group, key)?;
                // a site, its kind, the table or the contract may say it
                let presence =
                    if matches!(key.presence, Presence::Required) { Presence::Optional } else { key.presence };
                Some(Key { presence, ..key })
            })
        }
    };
    Shape::Group(Group { name, about, keys: names.iter().filter_map(key).collect() })
}

fn of_job(group: &str, name: &str) -> Option<Key> {
    let find = |shape, name: &str| match shape {
        Shape::Group(group) => group.keys.into_iter().find(|key| key.name == name),
        _ => None,
    };
    let job = JobKeys::shape();
    find(if group.is_empty() { job } else { find(job, group)?.shape }, name)
}

fn required(name: &'static str, about: &'static str, shape: Shape) -> Key {
    Key { name, about, shape, presence: Presence::Required }
}

fn optional(name: &'static str, about: &'static str, shape: Shape) -> Key {
    Key { name, about, shape, presence: Presence::Optional }
}

fn line(what: &'static str) -> Shape {
    Shape::line(what, Line::Any)
}

fn one_or_list(of: Shape) -> Shape {
    Shape::List { of: Box::new(of), or_one: true }
}

fn by_key(of: Shape) -> Shape {
    Shape::ByKey { of: Box::new(of), plain: false }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_that_is_read_is_declared() {
        for (shape, names) in [
            (shape(), [KEYS, site::DEFAULTS].concat()),
            (kind(), site::of_a_kind()),
            (of_site(), [site::SITE, site::WORK, site::DEFAULTS].concat()),
            (route(), routes::KEYS.to_vec()),
            (site_table(), columns::TABLE.to_vec()),
            (visit_group(), visits::KEYS.to_vec()),
            (holidays(), visits::HOLIDAYS.to_vec()),
        ] {
            let declared: Vec<&str> = shape.keys().iter().map(|key| key.name).collect();
            assert_eq!(declared, names);
        }
        // a column holds what a site may say
        let site = of_site();
        for (_, key, _) in COLUMNS.iter().skip(1).filter(|(group, ..)| group.is_empty()) {
            assert!(site.keys().iter().any(|known| known.name == *key), "{key}");
        }
    }
}
