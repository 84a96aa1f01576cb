//! Where the page of a record lies, so that the printed link finds it.
//!
//! Every static host answers `https://host/NUMBER` with the file `NUMBER/index.html`; that it finds `NUMBER.html` under that
//! name is a habit of some. So a link that ends with the number leads to a folder, and one that ends with `.html` to a file.

/// Why no static host can find a page by a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlaceError {
    /// The number stands in the host's name, or behind `?` or `#`.
    #[error("the number of the record must stand in the link's path: a static host looks at nothing else")]
    NotInPath,
    /// A part of the path is no plain name.
    #[error(
        "what stands around `{{record}}` in the link's path must be plain names: letters, digits, `-`, `_` and `.`"
    )]
    NotPlain,
}

/// The file that the printed link finds, from the folder whose address is the link up to the last `/` before `{record}`:
/// `https://host/{record}` gives `NUMBER/index.html`, `https://host/r/{record}.html` gives `NUMBER.html`. Always relative,
/// always of plain names.
///
/// # Errors
/// [`PlaceError`] if no static host could find it. `number` is a record's number.
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
}
