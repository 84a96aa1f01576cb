//! What a PDF carries, read in one pass over its tokens, for whoever looks for a certificate's record.
//!
//! The file may be a stranger's, so that every byte is looked at once and everything is bounded: nesting, values, streams, files and
//! the bytes they unpack to. PDF readers at large follow nesting and references without a bound (with `hayro-syntax` 0.7, which
//! comes with the engine, 200 KB of opened brackets end the process), which is why none is used here. Positions stated elsewhere in
//! the file (cross-reference tables) are not needed for what is looked for, and not believed.
//!
//! Structure as in ISO 32000-2:2020, 7.2 (lexical conventions), 7.3 (objects), 7.5.7 (object streams), 7.11.4 (embedded files).

use std::borrow::Cow;
use std::collections::HashSet;
use std::io::Read;
use std::ops::Range;

/// The largest PDF that is looked through, in bytes. A certificate of the samples has 60 KB.
pub const LARGEST_PDF: usize = 32 << 20;
/// The most bytes that all packed streams that are looked at unpack to. No published figure; a record may have 8 MiB.
const MOST_UNPACKED: usize = 64 << 20;
/// The most files that are carried. A certificate carries three.
const MOST_FILES: usize = 16;
/// Values inside one another. A PDF of the engine has five.
const DEEPEST: usize = 64;
/// Values, names and words that are read in all.
const MOST_VALUES: usize = 1_000_000;
/// Streams that are noted in all.
const MOST_STREAMS: usize = 50_000;

#[derive(Debug, Default)]
pub struct Carried {
    /// The files, unpacked, in the order they stand in.
    pub files: Vec<Vec<u8>>,
    /// How many more there are, packed in a way that is not known here.
    pub unknown: usize,
    /// Whether the file is encrypted. The engine encrypts none.
    pub encrypted: bool,
    /// Whether its objects are packed into streams. The engine packs none.
    pub packed: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct BeyondBounds(String);

/// Reads what a PDF carries, within the bounds above. What is not sound is passed over: whoever looks at a certificate draws it
/// again and compares every byte.
pub fn carried(pdf: &[u8]) -> Result<Carried, BeyondBounds> {
    if pdf.len() > LARGEST_PDF {
        return Err(BeyondBounds(format!("it is larger than {} MiB", LARGEST_PDF >> 20)));
    }
    let mut scan = Scan { bytes: pdf, left: MOST_VALUES, ..Scan::default() };
    scan.walk()?;
    let mut left = MOST_UNPACKED;
    let mut found = Carried { encrypted: scan.encrypted, ..Carried::default() };
    for stream in scan.streams.iter().filter(|s| s.head.kind == b"ObjStm") {
        found.packed = true;
        if let Some(bytes) = stream.unpacked(pdf, &mut left)? {
            let mut within = Scan { bytes: &bytes, at: stream.head.first, left: scan.left, ..Scan::default() };
            within.walk()?;
            scan.left = within.left;
            scan.embedded.extend(within.embedded);
        }
    }
    let is_file = |s: &&Stream| s.head.kind == b"EmbeddedFile" || scan.embedded.contains(&s.number);
    for stream in scan.streams.iter().filter(is_file) {
        if found.files.len() + found.unknown == MOST_FILES {
            return Err(BeyondBounds(format!("more than {MOST_FILES} files are attached to it")));
        }
        match stream.unpacked(pdf, &mut left)? {
            Some(bytes) => found.files.push(bytes),
            None => found.unknown += 1,
        }
    }
    Ok(found)
}

/// What the outermost dictionary of an object says, as far as it matters here.
#[derive(Default)]
struct Head {
    kind: Vec<u8>,
    length: Option<usize>,
    /// Where the first object begins, in a stream of objects.
    first: usize,
    filters: Vec<Vec<u8>>,
    /// Whether it is packed in a way that is not known here, whatever the filters are called.
    odd: bool,
    encrypted: bool,
}

impl Head {
    fn note(&mut self, key: &[u8], value: &Token<'_>) {
        match (key, value) {
            (_, Token::Close) => {}
            (b"Type", Token::Name(name)) => self.kind = name.to_vec(),
            (b"Length", Token::Whole(number)) => self.length = usize::try_from(*number).ok(),
            (b"Length", _) => self.length = None,
            (b"First", Token::Whole(number)) => self.first = usize::try_from(*number).unwrap_or(0),
            (b"Filter", Token::Name(name)) => self.filters.push(name.to_vec()),
            (b"Filter", Token::Open { dict: false }) => {}
            (b"Filter" | b"DecodeParms", _) => self.odd = true,
            (b"Encrypt", _) => self.encrypted = true,
            _ => {}
        }
    }
}

struct Stream {
    number: u32,
    head: Head,
    body: Range<usize>,
}

impl Stream {
    /// Its content; `None` if it is damaged or packed in a way that is not known here.
    fn unpacked(&self, pdf: &[u8], left: &mut usize) -> Result<Option<Vec<u8>>, BeyondBounds> {
        let Some(body) = pdf.get(self.body.clone()).filter(|_| !self.head.odd) else {
            return Ok(None);
        };
        let mut out = Vec::new();
        let most = u64::try_from(*left).unwrap_or(u64::MAX).saturating_add(1);
        let whole = match self.head.filters.as_slice() {
            [] => body.take(most).read_to_end(&mut out),
            [only] if only == b"FlateDecode" => flate2::read::ZlibDecoder::new(body).take(most).read_to_end(&mut out),
            _ => return Ok(None),
        };
        *left = left
            .checked_sub(out.len())
            .ok_or_else(|| BeyondBounds(format!("what it carries unpacks to more than {} MiB", MOST_UNPACKED >> 20)))?;
        Ok(whole.is_ok().then_some(out))
    }
}

enum Token<'b> {
    Open {
        dict: bool,
    },
    Close,
    Name(Cow<'b, [u8]>),
    Whole(u64),
    Word(&'b [u8]),
    /// A text, or what stands where nothing should.
    Other,
}

/// A dictionary or list that is open.
struct Level<'b> {
    dict: bool,
    /// The key whose value comes next or was the last; in a list that of the list.
    key: Cow<'b, [u8]>,
    wants_key: bool,
    /// Whether it names embedded files.
    files: bool,
}

/// A position in bytes that only ever moves on, so that all of it together takes time linear in the bytes.
#[derive(Default)]
struct Scan<'b> {
    bytes: &'b [u8],
    at: usize,
    /// Tokens that may still be read.
    left: usize,
    streams: Vec<Stream>,
    /// Numbers of the streams that some dictionary calls embedded files.
    embedded: HashSet<u32>,
    encrypted: bool,
}

impl<'b> Scan<'b> {
    /// Walks over the objects of a file, or of an object stream, and notes streams and embedded files.
    fn walk(&mut self) -> Result<(), BeyondBounds> {
        let mut open: Vec<Level<'b>> = Vec::new();
        let mut head = Head::default();
        // the object that was begun last; `None` for a trailer
        let mut object = Some(0);
        // the last two numbers: `12 0 obj`, `12 0 R`
        let mut numbers = [0; 2];
        while let Some(token) = self.token()? {
            match token {
                Token::Whole(number) => {
                    numbers = [numbers[1], number];
                    if open.is_empty() {
                        continue;
                    }
                }
                Token::Word(b"obj") => (object, open) = (u32::try_from(numbers[0]).ok(), Vec::new()),
                Token::Word(b"trailer") => (object, open) = (None, Vec::new()),
                Token::Word(b"endobj") => open.clear(),
                Token::Word(b"stream") if open.is_empty() => {
                    self.stream(object.unwrap_or(0), std::mem::take(&mut head))?;
                }
                Token::Word(b"R") if open.last().is_some_and(|level| level.files) => {
                    self.embedded.extend(u32::try_from(numbers[0]));
                }
                Token::Close => {
                    open.pop();
                    self.encrypted |= open.is_empty() && object.is_none() && head.encrypted;
                }
                _ => {}
            }
            if open.is_empty() && matches!(token, Token::Open { .. }) {
                head = Head::default();
            }
            // values of the outermost dictionary, and those of a list in it
            match open.as_slice() {
                [dict] if dict.dict && !(dict.wants_key && matches!(token, Token::Name(_))) => {
                    head.note(&dict.key, &token);
                }
                [dict, Level { dict: false, .. }] if dict.dict => head.note(&dict.key, &token),
                _ => {}
            }
            let parent = open.last_mut();
            if let Token::Open { dict } = token {
                let key = parent.map_or_else(Cow::default, |level| {
                    level.wants_key = true;
                    level.key.clone()
                });
                if open.len() == DEEPEST {
                    return Err(BeyondBounds(format!("it has more than {DEEPEST} values inside one another")));
                }
                open.push(Level { dict, files: dict && *key == *b"EF", key, wants_key: dict });
            } else if let Some(level) = parent.filter(|level| level.dict && !matches!(token, Token::Close)) {
                match token {
                    Token::Name(name) if level.wants_key => (level.key, level.wants_key) = (name, false),
                    _ => level.wants_key = true,
                }
            }
        }
        Ok(())
    }

    /// Notes a stream that begins here. Its stated length is believed where its end follows on it.
    fn stream(&mut self, number: u32, head: Head) -> Result<(), BeyondBounds> {
        const END: &[u8] = b"endstream";
        if !self.eat(b"\r\n") && !self.eat(b"\n") {
            self.eat(b"\r");
        }
        let begins = self.at;
        let stated = head.length.and_then(|length| begins.checked_add(length)).filter(|ends| *ends <= self.bytes.len());
        let stated = stated.filter(|ends| {
            // two bytes at most end the content; more would be looked at again for each stream that points at them
            let rest = &self.bytes[*ends..];
            let white = rest.iter().take(2).take_while(|b| is_white(**b)).count();
            rest[white..].starts_with(END)
        });
        let ends = stated.unwrap_or_else(|| {
            let found = self.rest().windows(END.len()).position(|w| w == END);
            found.map_or(self.bytes.len(), |i| begins + i)
        });
        self.at = ends;
        self.encrypted |= head.kind == b"XRef" && head.encrypted;
        self.streams.push(Stream { number, head, body: begins..ends });
        if self.streams.len() > MOST_STREAMS {
            return Err(BeyondBounds(format!("it has more than {MOST_STREAMS} streams")));
        }
        Ok(())
    }

    fn token(&mut self) -> Result<Option<Token<'b>>, BeyondBounds> {
        self.skip_space();
        let Some(first) = self.rest().first() else { return Ok(None) };
        let left = self.left.checked_sub(1);
        self.left = left.ok_or_else(|| BeyondBounds(format!("it has more than {MOST_VALUES} values")))?;
        Ok(Some(match first {
            b'<' if self.eat(b"<<") => Token::Open { dict: true },
            b'>' if self.eat(b">>") => Token::Close,
            b'[' if self.eat(b"[") => Token::Open { dict: false },
            b']' if self.eat(b"]") => Token::Close,
            b'/' if self.eat(b"/") => Token::Name(name(self.word())),
            b'(' => self.skip_text(),
            b'<' => {
                let ends = self.rest().iter().position(|b| *b == b'>');
                self.at = ends.map_or(self.bytes.len(), |ends| self.at + ends + 1);
                Token::Other
            }
            first if is_regular(*first) => {
                let word = self.word();
                // a number of more than ten digits is of no use
                let digits = std::str::from_utf8(word).ok().filter(|w| w.len() <= 10 && !w.starts_with('+'));
                digits.and_then(|digits| digits.parse().ok()).map_or(Token::Word(word), Token::Whole)
            }
            _ => {
                self.at += 1;
                Token::Other
            }
        }))
    }

    /// Past a text in brackets, which may hold brackets; its content does not matter here.
    fn skip_text(&mut self) -> Token<'b> {
        let mut open = 0_usize;
        while let Some(byte) = self.bytes.get(self.at) {
            self.at += 1;
            match byte {
                b'\\' => self.at += 1,
                b'(' => open += 1,
                b')' if open == 1 => return Token::Other,
                b')' => open -= 1,
                _ => {}
            }
        }
        self.at = self.bytes.len();
        Token::Other
    }

    fn rest(&self) -> &'b [u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    fn eat(&mut self, word: &[u8]) -> bool {
        let is_here = self.rest().starts_with(word);
        self.at += if is_here { word.len() } else { 0 };
        is_here
    }

    fn word(&mut self) -> &'b [u8] {
        let word = self.rest().iter().take_while(|b| is_regular(**b)).count();
        let word = &self.rest()[..word];
        self.at += word.len();
        word
    }

    /// Past white space and remarks.
    fn skip_space(&mut self) {
        loop {
            self.at += self.rest().iter().take_while(|b| is_white(**b)).count();
            if self.rest().first() != Some(&b'%') {
                return;
            }
            self.at += self.rest().iter().take_while(|b| !matches!(b, b'\r' | b'\n')).count();
        }
    }
}

/// A name as written behind its slash, `#41` read as `A`.
fn name(written: &[u8]) -> Cow<'_, [u8]> {
    if !written.contains(&b'#') {
        return Cow::Borrowed(written);
    }
    let mut name = Vec::with_capacity(written.len());
    let mut at = 0;
    while let Some(byte) = written.get(at) {
        let digits = written.get(at + 1..at + 3).filter(|_| *byte == b'#');
        let code = digits.and_then(|d| u8::from_str_radix(std::str::from_utf8(d).ok()?, 16).ok());
        name.push(code.unwrap_or(*byte));
        at += if code.is_some() { 3 } else { 1 };
    }
    Cow::Owned(name)
}

/// ISO 32000-2:2020, table 1.
fn is_white(byte: u8) -> bool {
    matches!(byte, 0 | b'\t' | b'\n' | 12 | b'\r' | b' ')
}

/// Neither white space nor a delimiter (ISO 32000-2:2020, tables 1 and 2).
fn is_regular(byte: u8) -> bool {
    !is_white(byte) && !matches!(byte, b'(' | b')' | b'<' | b'>' | b'[' | b']' | b'{' | b'}' | b'/' | b'%')
}

#[cfg(test)]
mod tests;
