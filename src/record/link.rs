//! What names a record: its number, the link to it, where the page at that link lies, and the printed code.
//!
//! Every static host answers `https://host/NUMBER` with the file `NUMBER/index.html`; that it finds `NUMBER.html` under that
//! name is a habit of some. So a link that ends with the number leads to a folder, and one that ends with `.html` to a file.

use std::fmt::Write;
use std::sync::OnceLock;

use qrcode::{Color, EcLevel, QrCode};
use serde::Serialize;

use super::unwritable;
use crate::diagnostic::Diagnostic;
use crate::digest::sha256;
use crate::plan::Plan;
use crate::yaml::Origin;

/// The longest link that a code of version 4, level M, holds: it reads from a 203 dpi print at 15 mm.
pub const LONGEST_LINK: usize = 62;

/// What names a record, known from the plan alone: labels are printed before the work is done.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// The job's number and the first eight digits of the plan's digest: `2026-0413-9f2c61ab`.
    pub number: String,
    /// Where the record is found.
    pub link: String,
    /// The code for the link, made once.
    #[serde(skip)]
    code: OnceLock<Option<Code>>,
}

impl Record {
    /// Names the record of a plan. `link` is the company's, with `{record}` in it; `origin` is where it stands.
    pub fn of(plan: &Plan, link: &str, origin: &Origin) -> Result<Record, Box<Diagnostic>> {
        let json = serde_json_canonicalizer::to_vec(plan).map_err(|e| Box::new(unwritable(&e)))?;
        let number = record_number(&plan.job, &json);
        let link = link.replace("{record}", &number);
        if link.len() > LONGEST_LINK {
            let message =
                format!("with this job's number the link has {} characters; {LONGEST_LINK} can be printed", link.len());
            let hint = "shorten the link's host or path, or the job number";
            return Err(Box::new(origin.error("bad-link", message).hint(hint)));
        }
        Ok(Record { number, link, code: OnceLock::new() })
    }

    /// The printed code of the link, as [`code`] makes it.
    pub fn code(&self) -> Option<&Code> {
        self.code.get_or_init(|| code(&self.link)).as_ref()
    }
}

/// A record's number from its job and the plan in canonical JSON.
pub(super) fn record_number(job: &str, plan: &[u8]) -> String {
    format!("{job}-{}", &sha256(plan)[..8])
}

/// Why no static host can find a page by a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlaceError {
    #[error("the number of the record must stand in the link's path: a static host looks at nothing else")]
    NotInPath,
    #[error(
        "what stands around `{{record}}` in the link's path must be plain names: letters, digits, `-`, `_` and `.`"
    )]
    NotPlain,
}

/// The file that the printed link finds, from the folder whose address is the link up to the last `/` before `{record}`:
/// `https://host/{record}` gives `NUMBER/index.html`, `https://host/r/{record}.html` gives `NUMBER.html`. Always relative,
/// always of plain names.
pub fn place(link: &str, number: &str) -> Result<String, PlaceError> {
    const BLANK: &str = "{record}";
    let rest = link.strip_prefix("https://").unwrap_or(link);
    let (_host, path) = rest.split_once('/').ok_or(PlaceError::NotInPath)?;
    // what a host does not look at
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let at = path.find(BLANK).ok_or(PlaceError::NotInPath)?;
    let from = path[..at].rfind('/').map_or(0, |slash| slash + 1);
    let name = path[from..].replace(BLANK, number);
    let (name, folder) = match name.strip_suffix('/') {
        Some(name) => (name.to_owned(), true),
        None => (name, false),
    };
    let plain = |part: &str| {
        part.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'))
            && part.chars().any(|c| c != '.')
    };
    if !name.split('/').all(plain) {
        return Err(PlaceError::NotPlain);
    }
    let is_file = !folder && (name.ends_with(".html") || name.ends_with(".htm"));
    Ok(if is_file { name } else { format!("{name}/index.html") })
}

/// Modules of white around a code (ISO/IEC 18004).
const QUIET_ZONE: usize = 4;

#[derive(Clone, Debug, Serialize)]
pub struct Code {
    pub svg: String,
    pub modules: usize,
}

/// The code for a link, level M; `None` if it is too long for any code.
pub fn code(link: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(link.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let colors = code.to_colors();
    let modules = width + 2 * QUIET_ZONE;
    let mut path = String::new();
    for (row, line) in colors.chunks(width).enumerate() {
        let mut column = 0;
        while column < width {
            let run = line[column..].iter().take_while(|c| **c == Color::Dark).count();
            if run > 0 {
                // Writing into a String cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", column + QUIET_ZONE, row + QUIET_ZONE);
            }
            column += run.max(1);
        }
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {modules} {modules}\" shape-rendering=\"crispEdges\">\
         <rect width=\"{modules}\" height=\"{modules}\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>"
    );
    Some(Code { svg, modules })
}

#[cfg(test)]
mod tests {
    use super::*;

    const NUMBER: &str = "2026-0413-173a8632";

    #[test]
    fn the_link_finds_the_file() {
        let found = |link| place(link, NUMBER).expect("a place");
        assert_eq!(found("https://r.example/{record}"), "2026-0413-173a8632/index.html");
        assert_eq!(found("https://r.example/{record}/"), "2026-0413-173a8632/index.html");
        assert_eq!(found("https://r.example/a/b/{record}"), "2026-0413-173a8632/index.html");
        assert_eq!(found("https://r.example/a/{record}.html"), "2026-0413-173a8632.html");
        assert_eq!(found("https://r.example/r-{record}?from=label"), "r-2026-0413-173a8632/index.html");
        assert_eq!(found("https://r.example/{record}/page.html#top"), "2026-0413-173a8632/page.html");
    }

    #[test]
    fn what_no_static_host_can_find_is_refused() {
        for link in ["https://{record}.example/", "https://r.example/?r={record}", "https://r.example/#{record}"] {
            assert_eq!(place(link, NUMBER), Err(PlaceError::NotInPath), "{link}");
        }
        for link in [
            "https://r.example/{record}/../../x",
            "https://r.example/%2e%2e{record}",
            "https://r.example/{record}//x",
            "https://r.example/a:{record}",
        ] {
            assert_eq!(place(link, NUMBER), Err(PlaceError::NotPlain), "{link}");
        }
    }

    #[test]
    fn a_link_of_62_bytes_is_version_4() {
        // ISO/IEC 18004: version 4-M holds 62 bytes; 33 modules a side, and four of white on each.
        let link = format!("https://{}", "a".repeat(54));
        assert_eq!(code(&link).unwrap().modules, 33 + 8);
        assert_eq!(code(&format!("{link}a")).unwrap().modules, 37 + 8);
    }
}
