//! Values separated by a mark (CSV, TSV), after RFC 4180: rows of fields, each with the byte at which it begins.
//!
//! A quote that is out of place is never guessed at: it could swallow rows, and the sites or loads in them.

use crate::diagnostic::Spot;

/// A field with its quotes undone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    pub text: String,
    /// The byte of the text at which it begins.
    pub at: usize,
}

/// A quote that is out of place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BadQuote {
    /// The quote at this byte opens a field and is never closed.
    Unclosed(usize),
    /// A field in quotes ended before this byte, and more of it follows.
    EndsEarly(usize),
    /// At this byte, within a field that does not begin with one; only where [`Rows::strict`] asks.
    Within(usize),
}

/// The rows of a text, one by one; a blank line is a row without fields. Behind a bad quote nothing more is to be asked for.
#[derive(Debug)]
pub struct Rows<'t> {
    text: &'t str,
    separator: u8,
    strict: bool,
    at: usize,
}

impl<'t> Rows<'t> {
    /// From a byte of the text on.
    pub fn of(text: &'t str, from: usize, separator: u8) -> Rows<'t> {
        Rows { text, separator, strict: false, at: from }
    }

    /// Refuses a quote in the middle of a field, which is inches or a slip.
    pub fn strict(self) -> Rows<'t> {
        Rows { strict: true, ..self }
    }

    /// The byte at which the next row begins.
    pub fn position(&self) -> usize {
        self.at
    }

    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Whether a field ends here.
    fn at_end(&self) -> bool {
        self.byte().is_none_or(|byte| byte == self.separator || matches!(byte, b'\r' | b'\n'))
    }

    fn field(&mut self) -> Result<Field, BadQuote> {
        let at = self.at;
        if self.byte() == Some(b'"') {
            return Ok(Field { text: self.quoted()?, at });
        }
        while !self.at_end() {
            if self.strict && self.byte() == Some(b'"') {
                return Err(BadQuote::Within(self.at));
            }
            self.at += 1;
        }
        // both ends are marks of one byte, or ends of the text
        Ok(Field { text: self.text[at..self.at].to_owned(), at })
    }

    fn quoted(&mut self) -> Result<String, BadQuote> {
        let opened = self.at;
        let mut text = String::new();
        loop {
            let rest = &self.text[self.at + 1..];
            let length = rest.find('"').ok_or(BadQuote::Unclosed(opened))?;
            text.push_str(&rest[..length]);
            self.at += length + 2;
            if self.byte() != Some(b'"') {
                break;
            }
            text.push('"');
        }
        if self.at_end() { Ok(text) } else { Err(BadQuote::EndsEarly(self.at)) }
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Vec<Field>, BadQuote>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut row = Vec::new();
        let first = self.byte()?;
        if !matches!(first, b'\r' | b'\n') {
            loop {
                match self.field() {
                    Ok(field) => row.push(field),
                    Err(bad) => return Some(Err(bad)),
                }
                if self.byte() != Some(self.separator) {
                    break;
                }
                self.at += 1;
            }
        }
        let end = &self.text[self.at..];
        self.at += if end.starts_with("\r\n") { 2 } else { usize::from(!end.is_empty()) };
        Some(Ok(row))
    }
}

/// Where the lines of a text begin: found once, since every row may have a problem to show.
#[derive(Debug)]
pub struct Lines(Vec<usize>);

impl Lines {
    pub fn of(text: &str) -> Lines {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        Lines(std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect())
    }

    /// Line and column of a byte of the text, both from 1.
    pub fn position(&self, text: &str, at: usize) -> (usize, usize) {
        let line = self.0.partition_point(|begins| *begins <= at);
        (line, text[self.begin(line)..at.min(text.len())].chars().count() + 1)
    }

    /// The same with the line itself.
    pub fn spot(&self, text: &str, at: usize) -> Spot {
        let (line, column) = self.position(text, at);
        let whole = text[self.begin(line)..].lines().next().unwrap_or("");
        Spot { line, column, text: whole.chars().take(4_000).collect() }
    }

    fn begin(&self, line: usize) -> usize {
        self.0.get(line.saturating_sub(1)).copied().unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str, separator: u8) -> Vec<Vec<String>> {
        let rows = Rows::of(text, 0, separator).map(|row| row.expect("sound quotes"));
        rows.map(|row| row.into_iter().map(|field| field.text).collect()).collect()
    }

    #[test]
    fn quotes_and_line_breaks_inside_them_are_as_in_the_standard() {
        // RFC 4180, section 2, rules 5 to 7
        let text = "Code,Name,Post\r\n007,\"Hall, \"\"B\"\"\r\nnorth\",02134\r\n\r\n8,é x,\r9\n";
        let expected: [&[&str]; 5] =
            [&["Code", "Name", "Post"], &["007", "Hall, \"B\"\r\nnorth", "02134"], &[], &["8", "é x", ""], &["9"]];
        assert_eq!(rows(text, b','), expected);
        assert_eq!(rows("a;\"b;\"\n;", b';'), [["a", "b;"], ["", ""]]);
        let third: Vec<usize> = Rows::of(text, 0, b',').nth(3).unwrap().unwrap().iter().map(|f| f.at).collect();
        let lines = Lines::of(text);
        assert_eq!(third.iter().map(|at| lines.position(text, *at)).collect::<Vec<_>>(), [(5, 1), (5, 3), (5, 7)]);
    }

    #[test]
    fn a_quote_out_of_place_is_named_with_its_byte() {
        let first = |text: &str, strict: bool| {
            let rows = Rows { strict, ..Rows::of(text, 0, b',') };
            rows.into_iter().find_map(Result::err)
        };
        assert_eq!(first("a,\"Hall\nb,\"Pier\"\n", false), Some(BadQuote::EndsEarly(11)));
        assert_eq!(first("a,\"Hall\"\"\n", false), Some(BadQuote::Unclosed(2)));
        // inches
        assert_eq!(first("a,5' 6\"\n", false), None);
        assert_eq!(first("a,5' 6\"\n", true), Some(BadQuote::Within(6)));
    }

    proptest::proptest! {
        /// The crate's own reader is stricter nowhere and reads the same.
        #[test]
        fn what_is_sound_is_read_as_another_reader_reads_it(text in "[a,;\"\r\n é]{0,40}") {
            let ours: Result<Vec<Vec<Field>>, BadQuote> = Rows::of(&text, 0, b',').collect();
            if let Ok(ours) = ours {
                let ours: Vec<Vec<String>> =
                    ours.into_iter().filter(|row| !row.is_empty()).map(|row| row.into_iter().map(|f| f.text).collect()).collect();
                let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
                let theirs: Vec<Vec<String>> =
                    reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
                proptest::prop_assert_eq!(ours, theirs);
            }
        }
    }
}
