//! Changes to sound inputs: each keeps most of the form, so that what is changed is reached.

use std::io::{Cursor, Read, Write};
use std::sync::LazyLock;

use serde_json::{Value, json};

use super::forged::deflated;

/// A small generator (splitmix64, as published by Sebastiano Vigna): the same seed gives the same numbers.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Random {
        Random(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `bound`, which is above zero.
    pub fn below(&mut self, bound: usize) -> usize {
        usize::try_from(self.next() % bound as u64).expect("it is below a usize")
    }

    pub fn byte(&mut self) -> u8 {
        self.next().to_le_bytes()[0]
    }

    fn pick<'t, T>(&mut self, of: &'t [T]) -> &'t T {
        &of[self.below(of.len())]
    }
}

/// Pieces that inputs are changed with: `mutations.json`.
#[derive(serde::Deserialize)]
struct Tables {
    /// Values that are at an edge somewhere.
    nasty: Vec<String>,
    pdf_words: Vec<String>,
    xml_pieces: Vec<String>,
    xml_values: Vec<String>,
}

static TABLES: LazyLock<Tables> =
    LazyLock::new(|| serde_json::from_str(include_str!("mutations.json")).expect("the tables are JSON"));

fn nasty(random: &mut Random) -> String {
    match random.below(12) {
        0 => "x".repeat(1 << random.below(16)),
        1 => format!(
            "{} {}",
            random.next() >> random.below(64),
            random.pick(&["gal", "ft", "ppm", "min", "%", "ft2", "mL", "h", "F"])
        ),
        2 => (random.next() >> random.below(64)).to_string(),
        3 => "9".repeat(1 + random.below(60)),
        _ => random.pick(&TABLES.nasty).clone(),
    }
}

/// Changes a YAML text line by line, keeping its indentation; `other` lends lines.
pub fn mutate_yaml(text: &str, other: &str, random: &mut Random) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let lent: Vec<&str> = other.lines().collect();
    for _ in 0..1 + random.below(4) {
        if lines.is_empty() {
            break;
        }
        let at = random.below(lines.len());
        match random.below(11) {
            0 => drop(lines.remove(at)),
            1 => {
                let line = lines[at].clone();
                lines.insert(at, line);
            }
            2 => {
                let to = random.below(lines.len());
                lines.swap(at, to);
            }
            3 => lines[at] = format!("{}{}", " ".repeat(random.below(8)), lines[at].trim_start()),
            4 => lines.insert(at, (*random.pick(&lent)).to_owned()),
            5 => {
                // a block, many times over
                let block: Vec<String> = lines.iter().skip(at).take(1 + random.below(6)).cloned().collect();
                for _ in 0..random.below(200) {
                    for line in block.iter().rev() {
                        lines.insert(at, line.clone());
                    }
                }
            }
            6 => lines[at] = number_changed(&lines[at], random),
            7 => {
                let mut characters: Vec<char> = lines[at].chars().collect();
                if !characters.is_empty() {
                    let at = random.below(characters.len());
                    characters[at] = *random.pick(&[
                        '{', '}', '[', ']', ':', ',', '&', '*', '!', '#', '\'', '"', '\t', 'x', '9', '-', '\u{feff}',
                    ]);
                }
                lines[at] = characters.into_iter().collect();
            }
            _ => {
                // a value of a key, at the line's end or within brackets
                let line = lines[at].clone();
                let colons: Vec<usize> = line.match_indices(": ").map(|(i, _)| i + 2).collect();
                if let Some(from) = (!colons.is_empty()).then(|| *random.pick(&colons)) {
                    let rest = &line[from..];
                    let to = from + rest.find([',', '}', ']', '#']).unwrap_or(rest.len());
                    lines[at] = format!("{}{}{}", &line[..from], nasty(random), &line[to..]);
                }
            }
        }
    }
    lines.join("\n") + "\n"
}

fn number_changed(line: &str, random: &mut Random) -> String {
    let starts: Vec<usize> = line
        .char_indices()
        .filter(|(i, c)| c.is_ascii_digit() && !line[..*i].ends_with(|c: char| c.is_ascii_digit() || c == '.'))
        .map(|(i, _)| i)
        .collect();
    let Some(from) = (!starts.is_empty()).then(|| *random.pick(&starts)) else {
        return line.to_owned();
    };
    let length = line[from..].find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(line.len() - from);
    let number = match random.below(6) {
        0 => "0".to_owned(),
        1 => format!("-{}", &line[from..from + length]),
        2 => format!("{}e{}", &line[from..from + length], random.below(45)),
        3 => format!("{}e-{}", &line[from..from + length], random.below(45)),
        4 => format!("1/{}", random.below(6_000)),
        _ => (random.next() >> random.below(64)).to_string(),
    };
    format!("{}{number}{}", &line[..from], &line[from + length..])
}

/// Changes a table cell by cell.
pub fn mutate_table(text: &str, random: &mut Random) -> String {
    let mut rows: Vec<Vec<String>> = text.lines().map(|l| l.split(',').map(str::to_owned).collect()).collect();
    for _ in 0..1 + random.below(4) {
        let at = random.below(rows.len());
        let cell = random.below(rows[at].len().max(1));
        match random.below(8) {
            0 => {
                let row = rows[at].clone();
                let times = random.below(300);
                rows.splice(at..at, std::iter::repeat_n(row, times));
            }
            1 => {
                rows[at].pop();
            }
            2 => rows[at].push(nasty(random)),
            3 => {
                let to = random.below(rows.len());
                rows.swap(at, to);
            }
            4 => {
                for row in &mut rows {
                    row.insert(cell.min(row.len()), String::new());
                }
            }
            _ => {
                if let Some(there) = rows[at].get_mut(cell) {
                    *there = match random.below(3) {
                        0 => number_changed(there, random),
                        1 => format!("\"{}\"", nasty(random).replace('"', "\"\"")),
                        _ => nasty(random),
                    };
                }
            }
        }
    }
    let lines: Vec<String> = rows.iter().map(|row| row.join(",")).collect();
    lines.join(*random.pick::<&str>(&["\n", "\r\n", "\n"])) + "\n"
}

/// Changes a JSON value at one to four places.
pub fn mutate_json(mut value: Value, random: &mut Random) -> Value {
    for _ in 0..1 + random.below(4) {
        let mut places = Vec::new();
        walk(&value, String::new(), &mut places);
        let place = random.pick(&places).clone();
        if let Some(there) = value.pointer_mut(&place) {
            change(there, random);
        }
    }
    value
}

fn walk(value: &Value, at: String, places: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                walk(inner, format!("{at}/{}", key.replace('~', "~0").replace('/', "~1")), places);
            }
        }
        Value::Array(items) => {
            for (i, inner) in items.iter().enumerate() {
                walk(inner, format!("{at}/{i}"), places);
            }
        }
        _ => {}
    }
    places.push(at);
}

fn change(value: &mut Value, random: &mut Random) {
    let other = match random.below(10) {
        0 => Value::Null,
        1 => json!(random.next()),
        2 => json!(-1.5e300),
        3 => json!([]),
        4 => json!({}),
        5 => json!(random.below(2) == 0),
        6 => json!({ "a": [[{ "b": nasty(random) }]] }),
        _ => json!(nasty(random)),
    };
    match value {
        Value::Array(items) if random.below(3) > 0 && !items.is_empty() => {
            let item = random.pick(items).clone();
            match random.below(3) {
                0 => items.extend(std::iter::repeat_n(item, random.below(300))),
                1 => drop(items.pop()),
                _ => items.push(other),
            }
        }
        Value::Object(map) if random.below(3) > 0 && !map.is_empty() => {
            let keys: Vec<String> = map.keys().cloned().collect();
            let key = random.pick(&keys).clone();
            match random.below(3) {
                0 => drop(map.remove(&key)),
                1 => drop(map.insert(nasty(random), other)),
                _ => drop(map.insert(key, other)),
            }
        }
        _ => *value = other,
    }
}

/// Changes bytes: bits, numbers, stretches.
pub fn mutate_bytes(bytes: &[u8], random: &mut Random) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for _ in 0..1 + random.below(6) {
        if bytes.is_empty() {
            break;
        }
        let at = random.below(bytes.len());
        let to = (at + random.below(60)).min(bytes.len());
        match random.below(6) {
            0 => bytes[at] ^= 1 << random.below(8),
            1 => drop(bytes.drain(at..to)),
            2 => {
                let piece = bytes[at..to].to_vec();
                let into = random.below(bytes.len());
                bytes.splice(into..into, piece);
            }
            3 => bytes.truncate(at),
            4 => {
                if let Some(digit) = bytes[at..].iter().position(u8::is_ascii_digit) {
                    bytes[at + digit] = b'0' + random.byte() % 10;
                }
            }
            _ => bytes[at] = random.byte(),
        }
    }
    bytes
}

/// Changes a PDF at its words and numbers, or by bytes.
pub fn mutate_pdf(pdf: &[u8], random: &mut Random) -> Vec<u8> {
    let mut pdf = pdf.to_vec();
    for _ in 0..1 + random.below(3) {
        let word = random.pick(&TABLES.pdf_words).as_bytes();
        let places: Vec<usize> =
            pdf.windows(word.len()).enumerate().filter(|(_, w)| *w == word).map(|(i, _)| i).collect();
        let Some(at) = (!places.is_empty()).then(|| *random.pick(&places)) else {
            continue;
        };
        let end = at + word.len();
        let into: Vec<u8> = match random.below(6) {
            0 => Vec::new(),
            1 => random.pick(&TABLES.pdf_words).clone().into_bytes(),
            2 => word.repeat(1 + random.below(400)),
            3 => format!("{} {}", String::from_utf8_lossy(word), random.next() >> random.below(64)).into_bytes(),
            4 => [word, b" ", deflated(&vec![b'['; random.below(200_000)]).as_slice()].concat(),
            _ => {
                pdf = mutate_bytes(&pdf, random);
                continue;
            }
        };
        pdf.splice(at..end, into);
    }
    // what does not begin as a PDF is read as a record
    let head = pdf.len().min(4);
    pdf[..head].copy_from_slice(&b"%PDF"[..head]);
    pdf
}

/// Changes the parts of a packed workbook, and packs it again.
pub fn mutate_zip(bytes: &[u8], random: &mut Random) -> Vec<u8> {
    if random.below(8) == 0 {
        return mutate_bytes(bytes, random);
    }
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).expect("a workbook");
    let chosen = random.below(from.len());
    let mut into = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..from.len() {
        let mut part = from.by_index(i).expect("a part");
        let mut content = Vec::new();
        part.read_to_end(&mut content).expect("a part");
        if i == chosen {
            content = match String::from_utf8(content) {
                Ok(text) => mutate_svg(&text, random).into_bytes(),
                Err(e) => mutate_bytes(e.as_bytes(), random),
            };
        }
        let options = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
        let name = part.name().expect("a name").into_owned();
        into.start_file(name, options).expect("a part");
        into.write_all(&content).expect("a part");
    }
    into.finish().expect("a workbook").into_inner()
}

/// Changes XML at its elements and attributes.
pub fn mutate_svg(text: &str, random: &mut Random) -> String {
    let mut text = text.to_owned();
    for _ in 0..1 + random.below(4) {
        let tags: Vec<usize> = text.match_indices('<').map(|(i, _)| i).collect();
        let quotes: Vec<usize> = text.match_indices("=\"").map(|(i, _)| i + 2).collect();
        let at = if tags.is_empty() {
            return text;
        } else {
            *random.pick(&tags)
        };
        let end = text[at..].find('>').map_or(text.len(), |i| at + i + 1);
        match random.below(7) {
            0 => {
                let tag = text[at..end].to_owned();
                text.insert_str(at, &tag.repeat(1 + random.below(300)));
            }
            1 => text.replace_range(at..end, ""),
            2 => {
                let piece = random.pick(&TABLES.xml_pieces);
                text.insert_str(at, piece);
            }
            _ => {
                let Some(from) = (!quotes.is_empty()).then(|| *random.pick(&quotes)) else {
                    continue;
                };
                let to = text[from..].find('"').map_or(text.len(), |i| from + i);
                let value = match random.below(3) {
                    0 => number_changed(&text[from..to], random),
                    1 => random.pick(&TABLES.xml_values).clone(),
                    _ => nasty(random).replace(['"', '<', '&'], "_"),
                };
                text.replace_range(from..to, &value);
            }
        }
    }
    text
}
