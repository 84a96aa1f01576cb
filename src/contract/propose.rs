//! What a table of sites seems to hold: a proposal of its columns, and everything in it that is not clear.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde::Serialize;

use super::weekday::{WEEKDAYS, weekdays};
use crate::company::plain_key;
use crate::diagnostic::Diagnostics;
use crate::quantity::parse;
use crate::table::{Cell, Table, Which};
use crate::yaml::alike;

const HEADINGS: &str = include_str!("headings.csv");
/// Units that a heading names behind its words, as people write them, and as they are written in a contract.
const UNITS: [(&str, &str); 8] = [
    ("ft2", "ft2"),
    ("sq ft", "ft2"),
    ("sqft", "ft2"),
    ("ft²", "ft2"),
    ("m2", "m2"),
    ("sq m", "m2"),
    ("sqm", "m2"),
    ("m²", "m2"),
];

/// What a table of sites seems to hold.
#[derive(Debug, Default, Serialize)]
pub struct Proposal {
    /// What a column holds, and its headings: several of an address are joined.
    pub columns: Vec<(String, Vec<String>)>,
    pub areas: Vec<ProposedArea>,
    /// Kinds of sites with the areas that any site of the kind has.
    pub kinds: Vec<(String, Vec<String>)>,
    pub routes: Vec<String>,
    /// Weekdays as rules name them, with the keys of the sites that a column puts on each.
    pub weekdays: Vec<(&'static str, Vec<String>)>,
    /// By site: what no column gives.
    pub sites: Vec<(String, ProposedSite)>,
    /// What is not clear, one sentence each.
    pub unclear: Vec<String>,
    /// What keeps a contract from being written, one sentence each.
    pub lacking: Vec<String>,
}

/// A column that holds the size of an area.
#[derive(Debug, Serialize)]
pub struct ProposedArea {
    pub name: String,
    pub heading: String,
    /// `floor`, by its sides, or `surfaces`.
    pub size: &'static str,
    pub unit: Option<&'static str>,
}

/// What no column gives of a site.
#[derive(Debug, Default, Serialize)]
pub struct ProposedSite {
    pub kind: Option<String>,
    pub address: Option<String>,
    /// Areas of its kind whose cells are empty.
    pub without: Vec<String>,
}

/// A longer key leaves no space for the day in a job's number.
const LONGEST_KEY: usize = 15;

struct Column {
    at: usize,
    heading: String,
    /// What stands in each row.
    cells: Vec<String>,
    is_text: bool,
}

/// Looks through a table; `None` if it cannot be read, which is reported.
pub fn propose(file: &Path, report: &mut Diagnostics) -> Option<Proposal> {
    let table = Table::read(file, &Which { heading: 1, ..Which::default() }, report)?;
    let rows: Vec<usize> = table.filled_rows().collect();
    let mut found = Proposal::default();
    let mut columns: Vec<Column> = Vec::new();
    for (at, heading) in table.headings().into_iter().map(str::to_owned).enumerate() {
        let cells: Vec<String> = rows.iter().map(|row| shown(table.cell(*row, at))).collect();
        let filled = cells.iter().any(|cell| !cell.is_empty());
        let is_text = rows.iter().all(|row| matches!(table.cell(*row, at), Cell::Text(_) | Cell::Empty));
        if heading.is_empty() && filled {
            found.unclear.push(format!("column {}: it has no heading, and is left out", at + 1));
        } else if !heading.is_empty() && !filled {
            found.unclear.push(format!("`{heading}`: it is empty, and is left out"));
        } else if columns.iter().any(|other| other.heading == heading) {
            found.lacking.push(format!("two columns are headed `{heading}`: head them differently"));
        } else if filled {
            columns.push(Column { at, heading, cells, is_text });
        }
    }
    if rows.is_empty() {
        found.lacking.push("the table has no row below its headings".to_owned());
    }
    let mut taken = take_known(&columns, &mut found);
    take_areas(&columns, &mut taken, &mut found);
    take_weekdays(&columns, &mut taken, &mut found);
    for column in columns.iter().filter(|column| !taken.contains(&column.at)) {
        let sample = column.cells.iter().find(|cell| !cell.is_empty()).cloned().unwrap_or_default();
        found
            .unclear
            .push(format!("`{}`: what it holds is not known, such as `{sample}`; it is left out", column.heading));
    }
    if found.lacking.is_empty() {
        by_site(&columns, &mut found);
    }
    Some(found)
}

fn shown(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.clone(),
        Cell::Number { figures, shown } => shown.clone().unwrap_or_else(|| figures.clone()),
        Cell::Time(hour, minute) => format!("{hour:02}:{minute:02}"),
        Cell::Date(day) => day.to_string(),
        Cell::Moment(text) => text.clone(),
        Cell::Flag(yes) => yes.to_string(),
        Cell::Empty => String::new(),
        Cell::Bad(..) => "?".to_owned(),
    }
}

/// Columns that are headed as people head them.
fn take_known(columns: &[Column], found: &mut Proposal) -> BTreeSet<usize> {
    let mut taken = BTreeSet::new();
    let lower = |column: &Column| column.heading.to_lowercase().trim_end_matches(['.', ':']).to_owned();
    for line in HEADINGS.lines().filter(|line| !line.starts_with(['#'])).skip(1) {
        let Some((holds, headings)) = line.split_once(',') else { continue };
        let known = headings.split(';');
        let mut named = known.filter_map(|known| columns.iter().find(|c| lower(c) == known && !taken.contains(&c.at)));
        let Some(column) = named.next() else { continue };
        if let Some(other) = named.next().filter(|_| holds != "address") {
            let (one, other) = (&column.heading, &other.heading);
            found.unclear.push(format!("`{one}` and `{other}` may both be the {holds}: `{one}` is taken"));
        }
        taken.insert(column.at);
        match found.columns.iter_mut().find(|(known, _)| known == holds) {
            Some((_, headings)) => headings.push(column.heading.clone()),
            None => found.columns.push((holds.to_owned(), vec![column.heading.clone()])),
        }
    }
    if !found.columns.iter().any(|(holds, _)| holds == "key") {
        let fit = |column: &&Column| {
            let all: BTreeSet<&String> = column.cells.iter().collect();
            column.is_text
                && !taken.contains(&column.at)
                && without_unit(&column.heading).1.is_none()
                && column.cells.iter().all(|cell| weekdays(cell).is_none() && parse::area(cell).is_err())
                && all.len() == column.cells.len()
                && column.cells.iter().all(|cell| plain_key(cell))
        };
        let names = found.columns.iter().find(|(holds, _)| holds == "name").map(|(_, headings)| headings[0].clone());
        let by_name = names.clone().filter(|heading| {
            let column = columns.iter().find(|column| column.heading == *heading);
            let keys: Vec<String> = column.into_iter().flat_map(|c| &c.cells).map(|cell| key_of(cell)).collect();
            keys.iter().all(|key| plain_key(key) && key.len() <= LONGEST_KEY)
                && keys.iter().collect::<BTreeSet<_>>().len() == keys.len()
        });
        match (columns.iter().find(fit), by_name) {
            (None, Some(heading)) => {
                found.unclear.push(format!("no column is headed as a key: each site's key is made of `{heading}`"));
                found.columns.insert(0, ("key".to_owned(), vec![heading]));
            }
            (Some(column), _) => {
                taken.insert(column.at);
                let heading = column.heading.clone();
                found.unclear.push(format!("no column is headed as a key; `{heading}` is taken, since no two sites have the same"));
                found.columns.insert(0, ("key".to_owned(), vec![heading]));
            }
            (None, None) => found.lacking.push(format!(
                "no column can be the key of a site: add one, headed `Code`, with a short word of its own for each site{}",
                short_keys(columns, names.as_ref())
            )),
        }
    }
    for (holds, instead) in [("name", "key"), ("address", "name")] {
        if !found.columns.iter().any(|(known, _)| known == holds)
            && let Some((_, headings)) = found.columns.iter().find(|(known, _)| known == instead).cloned()
        {
            found.unclear.push(format!(
                "no column holds the {holds} of a site: the {instead} stands for it; it is printed on every document"
            ));
            found.columns.push((holds.to_owned(), headings));
        }
    }
    taken
}

/// Columns whose cells are sizes.
fn take_areas(columns: &[Column], taken: &mut BTreeSet<usize>, found: &mut Proposal) {
    for column in columns.iter().filter(|column| !taken.contains(&column.at)).collect::<Vec<_>>() {
        let filled = || column.cells.iter().filter(|cell| has_size(cell));
        let by_sides = |cell: &&String| {
            let sides: Vec<&str> = cell.split(['x', '×']).collect();
            sides.len() == 2 && parse::length(sides[1].trim()).is_ok()
        };
        let as_size = |cell: &&String| parse::area(cell).is_ok();
        let bare = |cell: &&String| parse::number(&cell.replace(',', "")).is_ok();
        let (name, unit) = without_unit(&column.heading);
        let sized = |cell: &String| by_sides(&cell) || as_size(&cell) || bare(&cell);
        if filled().next().is_none() || !filled().all(sized) {
            if filled().any(|cell| by_sides(&cell) || as_size(&cell)) {
                let odd = filled().find(|cell| !sized(cell)).cloned().unwrap_or_default();
                found.unclear.push(format!(
                    "`{}`: some cells are sizes and others not, such as `{odd}`; it is left out",
                    column.heading
                ));
                taken.insert(column.at);
            }
            continue;
        }
        let has_bare = filled().any(|cell| bare(&cell));
        if has_bare && unit.is_none() {
            // a figure without a unit may be anything: a number of rooms, a size
            continue;
        }
        let sides = filled().filter(by_sides).count();
        if sides > 0 && filled().count() > sides {
            found.lacking.push(format!(
                "`{}`: some cells give two sides and others one figure: write them alike",
                column.heading
            ));
        }
        let is_floor = sides > 0 || name.to_lowercase().contains("floor");
        let size = if is_floor { "floor" } else { "surfaces" };
        if size == "surfaces" {
            found.unclear.push(format!(
                "`{}`: taken as the size of all surfaces treated; if it is the floor, write `floor`",
                column.heading
            ));
        }
        taken.insert(column.at);
        found.areas.push(ProposedArea { name, heading: column.heading.clone(), size, unit: unit.filter(|_| has_bare) });
    }
    if found.areas.is_empty() {
        found.lacking.push(
            "no column holds the size of an area, such as `40 ft x 55 ft` or `180 ft2`: add one for each area, headed by its name, with the unit in the cells or as `Hall (ft2)`".to_owned(),
        );
    }
}

/// Whether a cell is neither empty nor `none`.
fn has_size(cell: &str) -> bool {
    !cell.is_empty() && !cell.eq_ignore_ascii_case("none")
}

/// Words that mean the same, whatever their capitals, spaces and hyphens, as the first of them is written.
fn alike_as_first(cells: &[String]) -> Vec<&str> {
    let mut known: Vec<&str> = Vec::new();
    let mut first = |cell| {
        alike(cell, known.iter().copied()).unwrap_or_else(|| {
            known.push(cell);
            cell
        })
    };
    cells.iter().map(|cell| first(cell.trim())).collect()
}

/// The key that a cell gives, as a table of sites is read.
fn key_of(cell: &str) -> String {
    cell.replace(' ', "-")
}

/// Keys that could be added: the first word of each site's name, where no two have the same.
fn short_keys(columns: &[Column], names: Option<&String>) -> String {
    let column = columns.iter().find(|column| Some(&column.heading) == names);
    let first =
        |cell: &String| cell.split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap_or_default().to_lowercase();
    let keys: Vec<String> = column.into_iter().flat_map(|column| &column.cells).map(first).collect();
    let different = keys.iter().collect::<BTreeSet<_>>().len() == keys.len() && keys.iter().all(|key| plain_key(key));
    if keys.is_empty() || !different { String::new() } else { format!(": {}", keys.join(", ")) }
}

/// A column of weekdays: a rule for each of them.
fn take_weekdays(columns: &[Column], taken: &mut BTreeSet<usize>, found: &mut Proposal) {
    let has_days = |column: &&Column| {
        let filled: Vec<&String> = column.cells.iter().filter(|cell| !cell.is_empty()).collect();
        !taken.contains(&column.at) && !filled.is_empty() && filled.iter().all(|cell| weekdays(cell).is_some())
    };
    let Some(column) = columns.iter().find(has_days) else { return };
    taken.insert(column.at);
    let key = found.columns.iter().find(|(holds, _)| holds == "key").map(|(_, headings)| headings[0].clone());
    let Some(keys) = key.and_then(|heading| columns.iter().find(|column| column.heading == heading)) else { return };
    for (_, day) in WEEKDAYS {
        let on_day =
            keys.cells.iter().zip(&column.cells).filter(|(_, days)| weekdays(days).is_some_and(|d| d.contains(&day)));
        let sites: Vec<String> = on_day.map(|(key, _)| key_of(key)).collect();
        if !sites.is_empty() {
            found.weekdays.push((day, sites));
        }
    }
    found.unclear.push(format!(
        "`{}`: taken as the day of a visit every week; how often and until when is not said",
        column.heading
    ));
    for (key, _) in keys.cells.iter().zip(&column.cells).filter(|(_, days)| days.is_empty()) {
        found.unclear.push(format!(
            "the site `{}` has no day in `{}`: no visit is planned to it",
            key_of(key),
            column.heading
        ));
    }
}

/// A heading without the unit behind it.
fn without_unit(heading: &str) -> (String, Option<&'static str>) {
    let trimmed = heading.trim_end_matches([')', ']', ' ']);
    for (written, unit) in UNITS {
        let lower = trimmed.to_lowercase();
        if let Some(rest) = lower.strip_suffix(written)
            && rest.ends_with(['(', '[', ' ', ','])
        {
            // small letters may have other lengths than large ones; then the heading stays as it is
            let name = trimmed.get(..rest.len()).unwrap_or(trimmed);
            return (name.trim_end_matches(['(', '[', ' ', ',']).to_owned(), Some(unit));
        }
    }
    (heading.to_owned(), None)
}

/// Kinds, routes and what single sites lack.
fn by_site(columns: &[Column], found: &mut Proposal) {
    let cells = |holds: &str| {
        let (_, headings) = found.columns.iter().find(|(known, _)| known == holds)?;
        columns.iter().find(|column| column.heading == headings[0]).map(|column| &column.cells)
    };
    let area_cells: Vec<(&str, &Vec<String>)> = found
        .areas
        .iter()
        .filter_map(|area| Some((area.name.as_str(), &columns.iter().find(|c| c.heading == area.heading)?.cells)))
        .collect();
    let Some(keys) = cells("key").map(|cells| cells.iter().map(|cell| key_of(cell)).collect::<Vec<_>>()) else {
        return;
    };
    let (kinds, addresses) = (cells("kind").map(|cells| alike_as_first(cells)), cells("address"));
    let mut of_kind: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    let kind_of = |row: usize| kinds.as_ref().map(|kinds| kinds[row]).filter(|kind| !kind.is_empty()).unwrap_or("site");
    for row in 0..keys.len() {
        of_kind.entry(kind_of(row)).or_default().push(row);
    }
    let mut sites = Vec::new();
    let mut unclear = Vec::new();
    let mut of_kinds = Vec::new();
    if kinds.is_none() {
        unclear.push("no column holds the kind of a site: all are of the kind `site`".to_owned());
    }
    for (kind, rows) in &of_kind {
        let has = |cells: &Vec<String>| rows.iter().any(|row| has_size(&cells[*row]));
        let areas = area_cells.iter().filter(|(_, cells)| has(cells));
        of_kinds.push(((*kind).to_owned(), areas.map(|(name, _)| (*name).to_owned()).collect::<Vec<_>>()));
    }
    for row in 0..keys.len() {
        let (key, kind) = (&keys[row], kind_of(row));
        let mut site = ProposedSite::default();
        if kinds.as_ref().is_none_or(|kinds| kinds[row].is_empty()) {
            site.kind = Some(kind.to_owned());
            if kinds.is_some() {
                unclear.push(format!("the site `{key}` has no kind: `site` is taken"));
            }
        }
        if addresses.is_some_and(|cells| cells[row].is_empty()) {
            site.address = Some("FILL IN".to_owned());
            unclear.push(format!("the site `{key}` has no address: `FILL IN` stands for it"));
        }
        let wanted =
            of_kinds.iter().find(|(known, _)| known == kind).map(|(_, areas)| areas.as_slice()).unwrap_or_default();
        for (name, cells) in area_cells.iter().filter(|(name, _)| wanted.iter().any(|area| area == name)) {
            if cells[row].is_empty() {
                site.without.push((*name).to_owned());
                unclear.push(format!(
                    "the site `{key}` gives no size of `{name}`: taken as `none`, so nobody treats it there"
                ));
            }
        }
        if site.kind.is_some() || site.address.is_some() || !site.without.is_empty() {
            sites.push((key.clone(), site));
        }
    }
    let routes = cells("route").map(|cells| alike_as_first(cells)).unwrap_or_default();
    let routes: BTreeSet<&str> = routes.into_iter().filter(|route| !route.is_empty()).collect();
    found.routes = routes.into_iter().map(str::to_owned).collect();
    found.kinds = of_kinds;
    found.sites = sites;
    found.unclear.extend(unclear);
}
