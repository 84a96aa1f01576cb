//! In which type a treatment's columns are set, so that it keeps to its page: estimated from the widths of letters before
//! the page is laid out, and one step smaller wherever the page shows that the estimate was wrong.
//!
//! Measuring in the template finds the same answer by laying every column out several times over, which took half of a
//! sheet's time. The figures here are those of `mix-sheet.typ`, in points; if they grow apart, a sheet is laid out twice
//! and not wrongly.

use serde_json::{Value, json};

use crate::typeset::fonts::advance;

/// Sizes of type, the largest first; after the last one the columns go to the back of the sheet.
const TYPES: [f64; 4] = [8.8, 8.4, 8.0, 7.6];
/// A treatment of more areas has its list below, over as many pages as it takes.
const MOST_AREAS: usize = 14;

const MM: f64 = 72.0 / 25.4;
/// Height of a letter and space between lines, in ems.
const CAP: f64 = 0.698;
const LEADING: f64 = 0.5;
/// Bold letters are wider by so much.
const BOLD: f64 = 1.05;
const GUTTER: f64 = 9.0 * MM;
const ASIDE: f64 = 62.0 * MM;
/// What the estimate may be off by: a try too much costs less than type too small.
const TOLERANCE: f64 = 6.0;

/// Chooses for every treatment of a sheet, or of several in one run.
pub fn begin(sheet: &mut Value) {
    for page in sheets(sheet) {
        let treatments = list(page, "treatments").len();
        for at in 0..treatments {
            let last = at + 1 == treatments;
            let found = TYPES.iter().map(|size| set_in(page, at, *size));
            let space = space(page, at, last) + TOLERANCE;
            let fits = found.into_iter().zip(TYPES).find(|(set, _)| set.tall <= space);
            let long = list(&page["treatments"][at]["areas"], "rows").len() > MOST_AREAS;
            let (set, size) = match fits {
                Some((set, size)) => (set, Some(size)),
                None => (set_in(page, at, TYPES[0]), None),
            };
            let size = if long { Some(TYPES[0]) } else { size };
            let treatment = &mut page["treatments"][at];
            treatment["type"] = json!(size);
            treatment["stop_aside"] = json!(!set.stop_in_main);
        }
    }
}

/// One step smaller for each treatment that was meant for one page and lies on two: `spread` has the first and the last page
/// of each, in the order of the document. Whether anything was changed.
pub fn step_down(sheet: &mut Value, spread: &[(usize, usize)]) -> bool {
    let mut changed = false;
    let mut spread = spread.iter();
    for page in sheets(sheet) {
        for at in 0..list(page, "treatments").len() {
            let Some((first, last)) = spread.next() else {
                return changed;
            };
            let long = list(&page["treatments"][at]["areas"], "rows").len() > MOST_AREAS;
            let Some(size) = page["treatments"][at]["type"].as_f64() else {
                continue;
            };
            if first == last || long {
                continue;
            }
            let smaller = TYPES.into_iter().find(|other| *other < size);
            let set = set_in(page, at, smaller.unwrap_or(size));
            let treatment = &mut page["treatments"][at];
            treatment["type"] = json!(smaller);
            treatment["stop_aside"] = json!(!set.stop_in_main);
            changed = true;
        }
    }
    changed
}

/// The sheets of a run, or the one that this is.
fn sheets(data: &mut Value) -> Vec<&mut Value> {
    if data["sheets"].is_array() { data["sheets"].as_array_mut().into_iter().flatten().collect() } else { vec![data] }
}

/// The columns of a treatment in one size of type.
struct Set {
    tall: f64,
    /// The rules for stopping stand in whichever column ends higher.
    stop_in_main: bool,
}

fn set_in(page: &Value, at: usize, size: f64) -> Set {
    let treatment = &page["treatments"][at];
    let main = width(page) - GUTTER - ASIDE;
    let number = advance("8") * size * BOLD + 6.0;
    let steps = rows(texts(treatment, "steps"), size, main - number, 6.0);
    let left = where_to(treatment) + timeline(treatment, main) + section(false) + steps;
    let right = gear(treatment) + watch(treatment, size);
    let stop = |width: f64| {
        let list = rows(texts(page, "stop"), size, width - 18.0 - 5.0 - 6.0, 5.0);
        12.0 + 16.0 + 8.0 * CAP + 4.4 + list + 12.0
    };
    let stop_in_main = left < right;
    Set { tall: if stop_in_main { right.max(left + stop(main)) } else { left.max(right + stop(ASIDE)) }, stop_in_main }
}

/// A heading; the first of a column has nothing above it.
fn section(first: bool) -> f64 {
    7.4 * CAP + 5.5 + if first { 0.0 } else { 11.0 }
}

fn where_to(treatment: &Value) -> f64 {
    let areas = &treatment["areas"];
    let lines = list(areas, "rows").len() + usize::from(!areas["total"].is_null());
    section(true) + 6.6 * CAP + 8.4 + lines as f64 * (9.4 * CAP + 8.4)
}

fn timeline(treatment: &Value, width: f64) -> f64 {
    let timeline = &treatment["timeline"];
    if timeline.is_null() {
        return 0.0;
    }
    // parts that are too short for their name are explained below
    let key: Vec<String> = list(timeline, "parts")
        .iter()
        .enumerate()
        .filter(|(_, part)| {
            advance(text(part, "label")) * 8.0 * BOLD + 8.0 > width * part["span"].as_f64().unwrap_or(1.0)
        })
        .map(|(i, part)| format!("{} {} {}", i + 1, text(part, "label"), text(part, "from")))
        .collect();
    let explained = if key.is_empty() { 0.0 } else { 4.0 + tall(&key.join("     "), 7.4, width) };
    section(false) + 31.0 + explained
}

fn gear(treatment: &Value) -> f64 {
    let column = (ASIDE - 3.0 * 4.0) / 4.0;
    let signs = list(treatment, "wear").chunks(4).enumerate();
    let rows = signs.map(|(row, signs)| {
        let words = signs.iter().map(|sign| tall(text(sign, "words"), 8.0, column / BOLD));
        12.5 * MM + 3.5 + words.fold(0.0, f64::max) + if row > 0 { 7.0 } else { 0.0 }
    });
    section(true) + rows.sum::<f64>()
}

fn watch(treatment: &Value, size: f64) -> f64 {
    let cautions = list(treatment, "cautions");
    let marks = cautions.iter().map(|caution| {
        let word = text(caution, "word").to_uppercase();
        (advance(&word) * BOLD + 0.05 * word.chars().count() as f64) * 6.6 + 6.0
    });
    let width = ASIDE - 6.0 - marks.fold(0.0, f64::max);
    let each = cautions.iter().map(|caution| {
        let narrow = if caution["severity"] == "stop" { BOLD } else { 1.0 };
        tall(text(caution, "text"), size, width / narrow).max(6.6 * CAP + 4.0)
    });
    section(false) + each.sum::<f64>() + 6.0 * cautions.len().saturating_sub(1) as f64
}

/// What a page has left where a treatment's columns begin.
fn space(page: &Value, at: usize, last: bool) -> f64 {
    let treatment = &page["treatments"][at];
    let height = if page["page"] == "a4" { 297.0 * MM } else { 792.0 };
    let foot = 16.0 * MM + list(page, "lines").len() as f64 * 3.1 * MM;
    let (width, mut above) = (width(page), 101.0);
    if at == 0 {
        above += if page["logo"].is_null() { 70.0 } else { 78.0 };
    }
    let loads = list(treatment, "loads").len();
    let inset = if loads > 6 { 10.4 } else { 12.4 };
    above += 6.6 * CAP + inset + loads as f64 * (9.4 * CAP + inset);
    above += boxes(treatment, width);
    if !treatment["last"].is_null() {
        above += 42.0;
    }
    above += tall(text(treatment, "meaning"), 9.4, width) - 9.4 * CAP;
    height - foot - above - if last { 44.0 } else { 0.0 }
}

/// The boxes at the top, all as tall as the tallest.
fn boxes(treatment: &Value, width: f64) -> f64 {
    const LARGE: [f64; 8] = [36.0, 32.0, 28.0, 25.0, 22.0, 19.0, 16.0, 13.0];
    const READ: [f64; 5] = [26.0, 23.0, 20.0, 17.0, 14.0];
    let shares = [("water", 1.0), ("product", 1.0), ("strip", 1.35)];
    let there: Vec<_> = shares.into_iter().filter(|(key, _)| !treatment[*key].is_null()).collect();
    let all: f64 = there.iter().map(|(_, share)| share).sum();
    let free = width - 9.0 * there.len().saturating_sub(1) as f64;
    let each = there.iter().map(|(key, share)| {
        let (it, space) = (&treatment[*key], free * share / all - 18.0);
        let sizes: &[f64] = if *key == "strip" { &READ } else { &LARGE };
        let fits = |size: &&f64| advance(text(it, "big")) * **size * 0.98 <= space;
        let big = sizes.iter().find(fits).or(sizes.last()).copied().unwrap_or(13.0);
        let mut height = 16.0 + 12.3 + 8.0 + big * CAP;
        if !it["small"].is_null() {
            height += 8.0 + tall(text(it, "small"), 9.4, space);
        }
        if *key == "strip" {
            height += 5.0 + 28.5 + 7.4 * CAP;
            if !it["how"].is_null() {
                height += 5.0 + tall(text(it, "how"), 8.0, space);
            }
        }
        height
    });
    each.fold(0.0, f64::max)
}

fn width(page: &Value) -> f64 {
    let sheet = if page["page"] == "a4" { 210.0 * MM } else { 612.0 };
    sheet - 30.0 * MM
}

fn rows<'a>(texts: impl Iterator<Item = &'a str>, size: f64, width: f64, gap: f64) -> f64 {
    texts.map(|text| tall(text, size, width) + gap).sum::<f64>() - gap
}

/// A paragraph's height.
fn tall(text: &str, size: f64, width: f64) -> f64 {
    let lines = lines(text, size, width) as f64;
    (CAP * lines + LEADING * (lines - 1.0)) * size
}

fn lines(text: &str, size: f64, width: f64) -> usize {
    let space = advance(" ") * size;
    let (mut lines, mut reached) = (1, 0.0);
    for word in text.split([' ', '\u{200B}']) {
        let word = advance(word) * size;
        if reached > 0.0 && reached + space + word > width {
            lines += 1;
            reached = word;
        } else {
            reached += word + if reached > 0.0 { space } else { 0.0 };
        }
    }
    lines
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().map(Vec::as_slice).unwrap_or_default()
}

fn texts<'v>(value: &'v Value, key: &str) -> impl Iterator<Item = &'v str> {
    list(value, key).iter().filter_map(Value::as_str)
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(steps: usize) -> Value {
        let step = "Go over all of it once, from the far end towards the door, and keep it visibly wet.";
        json!({
            "page": "us-letter", "stop": ["Somebody comes in."],
            "treatments": [{
                "steps": vec![step; steps], "areas": { "rows": [{}], "total": null }, "loads": [{}], "wear": [], "cautions": [],
                "meaning": "one part to 64", "water": { "big": "2 gal" },
            }],
        })
    }

    #[test]
    fn more_text_is_set_smaller_and_at_last_on_the_back() {
        let chosen: Vec<Option<f64>> = (5..40)
            .map(|steps| {
                let mut sheet = sheet(steps);
                begin(&mut sheet);
                sheet["treatments"][0]["type"].as_f64()
            })
            .collect();
        assert_eq!(chosen.first(), Some(&Some(8.8)));
        assert_eq!(chosen.last(), Some(&None));
        let ranks: Vec<f64> = chosen.iter().map(|size| size.unwrap_or(0.0)).collect();
        assert!(ranks.is_sorted_by(|a, b| a >= b), "{ranks:?}");
        assert!(ranks.contains(&7.6) && ranks.contains(&8.0), "{ranks:?}");
    }

    #[test]
    fn a_treatment_on_two_pages_is_set_a_step_smaller() {
        let mut sheet = sheet(5);
        begin(&mut sheet);
        assert!(!step_down(&mut sheet, &[(1, 1)]));
        for expected in [Some(8.4), Some(8.0), Some(7.6), None] {
            assert!(step_down(&mut sheet, &[(1, 2)]));
            assert_eq!(sheet["treatments"][0]["type"].as_f64(), expected);
        }
        assert!(!step_down(&mut sheet, &[(1, 3)]), "there is nothing smaller than the back");
    }

    #[test]
    fn a_run_counts_through_all_of_its_sheets() {
        let mut run = json!({ "sheets": [sheet(5), sheet(5)] });
        begin(&mut run);
        assert!(step_down(&mut run, &[(1, 1), (2, 3)]));
        assert_eq!(run["sheets"][0]["treatments"][0]["type"], 8.8);
        assert_eq!(run["sheets"][1]["treatments"][0]["type"], 8.4);
    }

    #[test]
    fn words_go_to_the_next_line_where_they_do_not_fit() {
        let width = advance("wet until") * 10.0;
        assert_eq!(lines("wet until", 10.0, width + 0.1), 1);
        assert_eq!(lines("wet until dry", 10.0, width + 0.1), 2);
        assert_eq!(lines("wet until", 10.0, width - 0.1), 2);
    }
}
