//! What a PDF carries, read in one pass over its objects, for whoever looks for a certificate's record.
//!
//! The file may be a stranger's, so that every byte is looked at once and everything is bounded: nesting, values, streams, files and
//! the bytes they unpack to. PDF readers at large follow nesting and references without a bound (with `hayro-syntax` 0.7, which
//! comes with the engine, 200 KB of opened brackets end the process), which is why none is used here. Positions stated elsewhere in
//! the file (cross-reference tables) are not needed for what is looked for, and not believed.
//!
//! Structure as in ISO 32000-2:2020, 7.2 (lexical conventions), 7.3 (objects), 7.5.7 (object streams), 7.11.4 (embedded files).

use std::collections::HashSet;
use std::io::Read;
use std::ops::Range;

/// The largest PDF that is looked through, in bytes. A certificate of the samples has 60 KB.
pub const LARGEST_PDF: usize = 32 << 20;
/// The most bytes that all packed streams that are looked at unpack to. No published figure; a record may have 8 MiB.
pub const MOST_UNPACKED: usize = 64 << 20;
/// The most files that are carried. A certificate carries three.
pub const MOST_FILES: usize = 16;
/// Values inside one another. A PDF of the engine has five.
const DEEPEST: usize = 64;
/// Values that are read in all.
const MOST_VALUES: usize = 1_000_000;
/// Streams that are noted in all.
const MOST_STREAMS: usize = 50_000;

/// What a PDF carries.
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

/// A PDF goes beyond a bound; the text says which.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct BeyondBounds(String);

/// Reads what a PDF carries. What is not sound is passed over: whoever looks at a certificate draws it again and compares
/// every byte.
///
/// # Errors
/// [`BeyondBounds`] if the file is larger than [`LARGEST_PDF`], carries more than [`MOST_FILES`], unpacks to more than
/// [`MOST_UNPACKED`], or has more values, streams or levels than a page of decant's ever has.
pub fn carried(pdf: &[u8]) -> Result<Carried, BeyondBounds> {
    if pdf.len() > LARGEST_PDF {
        return Err(BeyondBounds(format!("it is larger than {} MiB", LARGEST_PDF >> 20)));
    }
    let mut scan = Scan::of(pdf, MOST_VALUES);
    let mut streams = Vec::new();
    scan.objects(&mut streams)?;
    let mut left = MOST_UNPACKED;
    let mut found = Carried { encrypted: scan.encrypted, ..Carried::default() };
    for stream in streams.iter().filter(|s| s.kind == StreamKind::Objects) {
        found.packed = true;
        if let Some(bytes) = stream.unpacked(pdf, &mut left)? {
            let mut within = Scan::of(&bytes, scan.values);
            within.packed_objects(stream.first)?;
            scan.values = within.values;
            scan.embedded.extend(within.embedded);
        }
    }
    let is_file = |s: &&Stream| s.kind == StreamKind::File || scan.embedded.contains(&s.number);
    for stream in streams.iter().filter(is_file) {
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

#[derive(Clone, Copy, PartialEq, Eq)]
enum StreamKind {
    /// An embedded file.
    File,
    /// Objects, packed.
    Objects,
    Other,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Packing {
    Plain,
    Deflate,
    Unknown,
}

struct Stream {
    number: u32,
    kind: StreamKind,
    packing: Packing,
    /// Where its first object begins, in a stream of objects.
    first: usize,
    body: Range<usize>,
}

impl Stream {
    /// Its content; `None` if it is damaged or packed in a way that is not known here.
    fn unpacked(&self, pdf: &[u8], left: &mut usize) -> Result<Option<Vec<u8>>, BeyondBounds> {
        let Some(body) = pdf.get(self.body.clone()) else {
            return Ok(None);
        };
        let mut out = Vec::new();
        let most = u64::try_from(*left).unwrap_or(u64::MAX).saturating_add(1);
        let whole = match self.packing {
            Packing::Plain => body.take(most).read_to_end(&mut out),
            Packing::Deflate => flate2::read::ZlibDecoder::new(body).take(most).read_to_end(&mut out),
            Packing::Unknown => return Ok(None),
        };
        *left = left
            .checked_sub(out.len())
            .ok_or_else(|| BeyondBounds(format!("what it carries unpacks to more than {} MiB", MOST_UNPACKED >> 20)))?;
        Ok(whole.is_ok().then_some(out))
    }
}

/// A value, as far as it matters here.
enum Object {
    Name(Vec<u8>),
    Whole(u64),
    Ref(u32),
    List(Vec<Object>),
    Dict(Vec<(Vec<u8>, Object)>),
    Other,
}

impl Object {
    fn get(&self, key: &str) -> Option<&Object> {
        let Object::Dict(entries) = self else { return None };
        entries.iter().find(|(k, _)| k == key.as_bytes()).map(|(_, value)| value)
    }

    fn is_name(&self, name: &str) -> bool {
        matches!(self, Object::Name(found) if found == name.as_bytes())
    }

    fn number(&self) -> Option<usize> {
        match self {
            Object::Whole(number) => usize::try_from(*number).ok(),
            _ => None,
        }
    }
}

/// A position in bytes that only ever moves on, so that all of it together takes time linear in the bytes.
struct Scan<'b> {
    bytes: &'b [u8],
    at: usize,
    /// Values that may still be read.
    values: usize,
    /// Numbers of the streams that some dictionary calls embedded files.
    embedded: HashSet<u32>,
    encrypted: bool,
}

/// Why a value was not read.
enum Stop {
    /// It is none.
    Unsound,
    Beyond(BeyondBounds),
}

impl<'b> Scan<'b> {
    fn of(bytes: &'b [u8], values: usize) -> Self {
        Scan { bytes, at: 0, values, embedded: HashSet::new(), encrypted: false }
    }

    /// Walks over the objects of a file and notes its streams.
    fn objects(&mut self, streams: &mut Vec<Stream>) -> Result<(), BeyondBounds> {
        while self.at < self.bytes.len() {
            self.skip_space();
            if let Some(number) = self.object_begins() {
                let Some(object) = self.value_or_past()? else { continue };
                self.skip_space();
                if self.eat(b"stream") {
                    let body = self.body(object.get("Length"));
                    if object.get("Type").is_some_and(|t| t.is_name("XRef")) {
                        self.encrypted |= object.get("Encrypt").is_some();
                    }
                    streams.push(stream(number, &object, body));
                    if streams.len() > MOST_STREAMS {
                        return Err(BeyondBounds(format!("it has more than {MOST_STREAMS} streams")));
                    }
                }
            } else if self.eat(b"trailer") {
                if let Some(trailer) = self.value_or_past()? {
                    self.encrypted |= trailer.get("Encrypt").is_some();
                }
            } else {
                // a word, or whatever else stands between objects
                let word = self.rest().iter().take_while(|b| is_regular(**b)).count();
                self.at += word.max(1);
            }
        }
        Ok(())
    }

    /// Walks over the objects of an object stream.
    fn packed_objects(&mut self, first: usize) -> Result<(), BeyondBounds> {
        self.at = first.min(self.bytes.len());
        while self.at < self.bytes.len() {
            let before = self.at;
            self.value_or_past()?;
            self.skip_space();
            self.at = self.at.max(before + 1);
        }
        Ok(())
    }

    /// `12 0 obj`: its number, and the position behind it. Else nothing is moved.
    fn object_begins(&mut self) -> Option<u32> {
        let began = self.at;
        let number = self.short_number().and_then(|number| {
            self.skip_space();
            self.short_number()?;
            self.skip_space();
            self.eat(b"obj").then_some(number)
        });
        if number.is_none() {
            self.at = began;
        }
        number.and_then(|n| u32::try_from(n).ok())
    }

    /// The bytes of a stream that begins here. Its stated length is believed where its end follows on it.
    fn body(&mut self, length: Option<&Object>) -> Range<usize> {
        if !self.eat(b"\r\n") && !self.eat(b"\n") {
            self.eat(b"\r");
        }
        let begins = self.at;
        let stated = length.and_then(Object::number).and_then(|length| begins.checked_add(length));
        if let Some(ends) = stated.filter(|ends| *ends <= self.bytes.len()) {
            self.at = ends;
            // two bytes at most end the content; more would be looked at again for each stream that points at them
            self.at += self.rest().iter().take(2).take_while(|b| is_white(**b)).count();
            if self.eat(b"endstream") {
                return begins..ends;
            }
            self.at = begins;
        }
        const END: &[u8] = b"endstream";
        let ends = self.rest().windows(END.len()).position(|w| w == END);
        let ends = ends.map_or(self.bytes.len(), |i| begins + i);
        self.at = ends;
        begins..ends
    }

    /// The value here; `None` if it is unsound, and the position is then past what was read of it.
    fn value_or_past(&mut self) -> Result<Option<Object>, BeyondBounds> {
        match self.value(0) {
            Ok(object) => Ok(Some(object)),
            Err(Stop::Unsound) => Ok(None),
            Err(Stop::Beyond(beyond)) => Err(beyond),
        }
    }

    fn value(&mut self, depth: usize) -> Result<Object, Stop> {
        if depth > DEEPEST {
            let message = format!("it has more than {DEEPEST} values inside one another");
            return Err(Stop::Beyond(BeyondBounds(message)));
        }
        self.values = self
            .values
            .checked_sub(1)
            .ok_or_else(|| Stop::Beyond(BeyondBounds(format!("it has more than {MOST_VALUES} values"))))?;
        self.skip_space();
        if self.eat(b"<<") {
            return self.dict(depth);
        }
        match self.rest().first() {
            Some(b'[') => {
                self.at += 1;
                let mut list = Vec::new();
                loop {
                    self.skip_space();
                    if self.eat(b"]") {
                        return Ok(Object::List(list));
                    }
                    list.push(self.value(depth + 1)?);
                }
            }
            Some(b'/') => Ok(Object::Name(self.name())),
            Some(b'(') => self.text(),
            Some(b'<') => {
                let ends = self.rest().iter().position(|b| *b == b'>');
                self.at += ends.ok_or(Stop::Unsound).inspect_err(|_| self.at = self.bytes.len())? + 1;
                Ok(Object::Other)
            }
            Some(b'0'..=b'9') => Ok(self.number_or_ref()),
            Some(b) if is_regular(*b) => {
                let word = self.rest().iter().take_while(|b| is_regular(**b)).count();
                let (from, to) = (self.at, self.at + word);
                let word = &self.bytes[from..to];
                // `endobj` ends what is missing its end
                if word == b"endobj" || word == b"stream" {
                    return Err(Stop::Unsound);
                }
                self.at = to;
                Ok(Object::Other)
            }
            _ => {
                self.at = (self.at + 1).min(self.bytes.len());
                Err(Stop::Unsound)
            }
        }
    }

    fn dict(&mut self, depth: usize) -> Result<Object, Stop> {
        let mut entries = Vec::new();
        loop {
            self.skip_space();
            if self.eat(b">>") {
                return Ok(Object::Dict(entries));
            }
            if self.rest().first() != Some(&b'/') {
                return Err(Stop::Unsound);
            }
            let key = self.name();
            let value = self.value(depth + 1)?;
            if key == b"EF"
                && let Object::Dict(files) = &value
            {
                self.embedded.extend(files.iter().filter_map(|(_, file)| match file {
                    Object::Ref(number) => Some(*number),
                    _ => None,
                }));
            }
            entries.push((key, value));
        }
    }

    /// A name without its slash, `#41` read as `A`.
    fn name(&mut self) -> Vec<u8> {
        self.at += 1;
        let length = self.rest().iter().take_while(|b| is_regular(**b)).count();
        let written = &self.bytes[self.at..self.at + length];
        self.at += length;
        let mut name = Vec::with_capacity(length);
        let mut at = 0;
        while let Some(byte) = written.get(at) {
            let digits = written.get(at + 1..at + 3).filter(|_| *byte == b'#');
            let code = digits.and_then(|d| u8::from_str_radix(std::str::from_utf8(d).ok()?, 16).ok());
            name.push(code.unwrap_or(*byte));
            at += if code.is_some() { 3 } else { 1 };
        }
        name
    }

    /// A text in brackets, which may hold brackets; its content does not matter here.
    fn text(&mut self) -> Result<Object, Stop> {
        let mut open = 0_usize;
        while let Some(byte) = self.bytes.get(self.at) {
            self.at += 1;
            match byte {
                b'\\' => self.at += 1,
                b'(' => open += 1,
                b')' => {
                    open -= 1;
                    if open == 0 {
                        return Ok(Object::Other);
                    }
                }
                _ => {}
            }
        }
        self.at = self.bytes.len();
        Err(Stop::Unsound)
    }

    /// A number, or `12 0 R`.
    fn number_or_ref(&mut self) -> Object {
        let Some(number) = self.short_number() else {
            // too long a number to be of use
            self.at += self.rest().iter().take_while(|b| is_regular(**b)).count();
            return Object::Other;
        };
        let behind = self.at;
        self.skip_space();
        if self.short_number().is_some() {
            self.skip_space();
            if self.eat(b"R") {
                return u32::try_from(number).map_or(Object::Other, Object::Ref);
            }
        }
        self.at = behind;
        if self.rest().first() == Some(&b'.') {
            self.at += self.rest().iter().take_while(|b| is_regular(**b)).count();
            return Object::Other;
        }
        Object::Whole(number)
    }

    /// Digits, at most ten, with no eleventh.
    fn short_number(&mut self) -> Option<u64> {
        let digits = self.rest().iter().take(11).take_while(|b| b.is_ascii_digit()).count();
        if digits == 0 || digits > 10 {
            return None;
        }
        let text = std::str::from_utf8(&self.bytes[self.at..self.at + digits]).ok()?;
        self.at += digits;
        text.parse().ok()
    }

    fn rest(&self) -> &'b [u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    fn eat(&mut self, word: &[u8]) -> bool {
        let is_here = self.rest().starts_with(word);
        if is_here {
            self.at += word.len();
        }
        is_here
    }

    fn skip_white(&mut self) {
        self.at += self.rest().iter().take_while(|b| is_white(**b)).count();
    }

    /// Past white space and remarks.
    fn skip_space(&mut self) {
        loop {
            self.skip_white();
            if self.rest().first() != Some(&b'%') {
                return;
            }
            self.at += self.rest().iter().take_while(|b| !matches!(b, b'\r' | b'\n')).count();
        }
    }
}

fn stream(number: u32, dict: &Object, body: Range<usize>) -> Stream {
    let of_type = |name| dict.get("Type").is_some_and(|t| t.is_name(name));
    let kind = match () {
        () if of_type("EmbeddedFile") => StreamKind::File,
        () if of_type("ObjStm") => StreamKind::Objects,
        () => StreamKind::Other,
    };
    let is_plain = |filter: &Object| matches!(filter, Object::List(list) if list.is_empty());
    let deflates = |filter: &Object| match filter {
        Object::List(list) => matches!(list.as_slice(), [only] if only.is_name("FlateDecode")),
        other => other.is_name("FlateDecode"),
    };
    let packing = match dict.get("Filter") {
        None => Packing::Plain,
        Some(filter) if is_plain(filter) => Packing::Plain,
        Some(filter) if deflates(filter) && dict.get("DecodeParms").is_none() => Packing::Deflate,
        Some(_) => Packing::Unknown,
    };
    Stream { number, kind, packing, first: dict.get("First").and_then(Object::number).unwrap_or(0), body }
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
