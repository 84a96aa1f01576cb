//! What a workbook comes to, counted before it is read: the library that reads it has no bounds of its own.

use std::io::{Cursor, Read};
use std::path::Path;

use zip::ZipArchive;

use super::{MOST_ROWS, Problem, refuse, too_large};

/// The most that the parts of a workbook may unpack to, in bytes: a small file can unpack to thousands of times its size.
pub(super) const LARGEST_UNPACKED: u64 = 64 << 20;
/// The most parts of a workbook; one of a contractor's has a few dozen.
const MOST_PARTS: usize = 1_000;
/// The most merged ranges; each is a fault in a table of sites.
const MOST_MERGED: u64 = 1_000;
/// The most sheets.
const MOST_SHEETS: u64 = 1_000;
/// The most tags: four for each cell of a full table.
const MOST_TAGS: u64 = 3_000_000;
/// The most texts that cells share.
const MOST_STRINGS: u64 = MOST_ROWS as u64 * 20;
/// The most that all cell formats come to, in bytes: each holds a copy of the longest name or code it refers to.
const MOST_FORMATS: u64 = 64 << 20;

/// Unpacks every part once, counting: what a part says of its own size may not be true.
pub(super) fn check(file: &Path, bytes: &[u8]) -> Result<(), Problem> {
    let damaged = |e: &dyn std::fmt::Display| {
        let message = format!("this is not an XLSX file: {e}");
        refuse(
            file,
            "workbook-unreadable",
            message,
            "open it in a spreadsheet and save it again as XLSX, without a password",
        )
    };
    let mut parts = ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(&e))?;
    if parts.len() > MOST_PARTS {
        return Err(too_large(file, format!("the workbook has more than {MOST_PARTS} parts")));
    }
    let mut left = LARGEST_UNPACKED;
    let mut count = Count::default();
    for index in 0..parts.len() {
        let part = parts.by_index(index).map_err(|e| damaged(&e))?;
        let unpacked = count.part(&mut part.take(left + 1)).map_err(|e| damaged(&e))?;
        left = left.checked_sub(unpacked).ok_or_else(|| {
            too_large(file, format!("the workbook unpacks to more than {} MiB", LARGEST_UNPACKED >> 20))
        })?;
    }
    let beyond = |what: &str| too_large(file, format!("the workbook has more than {what}"));
    if count.merged > MOST_MERGED {
        let message = format!("the workbook has more than {MOST_MERGED} merged ranges");
        return Err(refuse(file, "table-too-large", message, "unmerge them, and fill in each cell"));
    }
    if count.tags > MOST_TAGS {
        return Err(beyond(&format!("{MOST_TAGS} tags")));
    }
    if count.sheets > MOST_SHEETS {
        return Err(beyond(&format!("{MOST_SHEETS} sheets")));
    }
    if count.strings > MOST_STRINGS {
        return Err(beyond(&format!("{MOST_STRINGS} texts")));
    }
    if count.formats.saturating_mul(count.longest) > MOST_FORMATS {
        let message = "the formats of its cells come to more than a table of sites needs";
        return Err(refuse(file, "table-too-large", message, "copy the sites into a new workbook, without formats"));
    }
    Ok(())
}

/// What was counted of all parts.
#[derive(Default)]
struct Count {
    tags: u64,
    merged: u64,
    sheets: u64,
    strings: u64,
    /// Cell formats.
    formats: u64,
    /// The longest tag of a part that has cell formats, in bytes.
    longest: u64,
}

impl Count {
    /// Reads a part to its end and counts its tags. Bytes of a part that is no XML count as what they look like.
    fn part(&mut self, part: &mut impl Read) -> std::io::Result<u64> {
        // the first letters of a tag say which it is
        const NAME: usize = 12;
        let mut buffer = vec![0; 64 << 10];
        let (mut unpacked, mut formats, mut longest) = (0, 0, 0_u64);
        let mut name: Vec<u8> = Vec::with_capacity(NAME);
        let (mut within, mut length) = (false, 0_u64);
        loop {
            let read = part.read(&mut buffer)?;
            if read == 0 {
                break;
            }
            unpacked += read as u64;
            for byte in &buffer[..read] {
                match byte {
                    b'<' => {
                        (within, length) = (true, 0);
                        name.clear();
                    }
                    b'>' if within => {
                        within = false;
                        longest = longest.max(length);
                        self.tag(&name, &mut formats);
                    }
                    _ if within => {
                        length += 1;
                        if name.len() < NAME {
                            name.push(*byte);
                        }
                    }
                    _ => {}
                }
            }
        }
        if formats > 0 {
            self.formats += formats;
            self.longest = self.longest.max(longest);
        }
        Ok(unpacked)
    }

    fn tag(&mut self, name: &[u8], formats: &mut u64) {
        self.tags += 1;
        // a prefix of a name space says nothing
        let name = name.split(|b| matches!(b, b' ' | b'/' | b'\t' | b'\r' | b'\n')).next().unwrap_or_default();
        let name = name.rsplit(|b| *b == b':').next().unwrap_or_default();
        match name {
            b"mergeCell" => self.merged += 1,
            b"sheet" => self.sheets += 1,
            b"si" => self.strings += 1,
            b"xf" => *formats += 1,
            _ => {}
        }
    }
}
