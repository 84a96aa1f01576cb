//! The mark at the head of an expanded job file, by which it is known again: of which contract it is, and whether anybody
//! has changed it since.

use crate::digest::sha256;

const OF: &str = "# Contract ";
const AFTER_NUMBER: &str = ". Change the contract and expand it again.";
const DIGEST: &str = "# SHA-256 of what follows: ";

/// What the head of a job file says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The contract's number.
    pub contract: String,
    /// Whether what follows is as it was expanded.
    pub unchanged: bool,
}

impl Mark {
    /// The mark of a file; `None` for one that was not expanded from a contract.
    pub fn of(text: &str) -> Option<Mark> {
        let mut lines = text.splitn(3, '\n');
        let first = lines.next()?.trim_end_matches('\r');
        let contract = first.strip_prefix(OF)?.strip_suffix(AFTER_NUMBER)?;
        let digest = lines.next().and_then(|line| line.strip_prefix(DIGEST));
        let body = lines.next().unwrap_or_default();
        Some(Mark { contract: contract.to_owned(), unchanged: digest == Some(sha256(body.as_bytes()).as_str()) })
    }
}

/// A job file with its mark.
pub(super) fn marked(contract: &str, body: &str) -> String {
    format!("{OF}{contract}{AFTER_NUMBER}\n{DIGEST}{}\n{body}", sha256(body.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_again_and_so_is_a_change() {
        let text = marked("HB-26", "job: A\n");
        let mark = Mark::of(&text).unwrap();
        assert_eq!((mark.contract.as_str(), mark.unchanged), ("HB-26", true));
        for changed in [text.clone() + "label_copies: 2\n", text.replace("job: A", "job: B")] {
            assert_eq!(Mark::of(&changed).map(|mark| mark.unchanged), Some(false));
        }
        // line ends that an editor changed are a change too, and the file is still the contract's
        assert_eq!(Mark::of(&text.replace('\n', "\r\n")).map(|mark| mark.unchanged), Some(false));
        assert_eq!(Mark::of("job: A\n"), None);
        assert_eq!(Mark::of("# Contract of the harbour\njob: A\n"), None);
    }
}
