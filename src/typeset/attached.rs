//! Files attached to a PDF that Typst wrote. No reader for PDFs at large: whoever looks at a certificate draws it again and
//! compares every byte, so that it is enough to find the attachments of one that is whole.

use std::io::Read;

/// The largest attachment that is unpacked, in bytes.
const LARGEST: u64 = 32 << 20;

/// The content of every attachment, in the order they stand in the file. What cannot be unpacked is left out.
pub fn attached(pdf: &[u8]) -> Vec<Vec<u8>> {
    const MARK: &[u8] = b"/Type/EmbeddedFile";
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = find(&pdf[from..], MARK).map(|i| from + i) {
        from = at + MARK.len();
        // the dictionary ends where its stream begins
        let Some(begins) = find(&pdf[at..], b"stream").map(|i| at + i) else {
            break;
        };
        let head_begins = rfind(&pdf[..at], b" obj").unwrap_or(at);
        let head = &pdf[head_begins..begins];
        let mut body = begins + b"stream".len();
        if pdf.get(body) == Some(&b'\r') {
            body += 1;
        }
        if pdf.get(body) == Some(&b'\n') {
            body += 1;
        }
        let Some(length) = number_behind(head, b"/Length ") else {
            continue;
        };
        let Some(bytes) = body.checked_add(length).and_then(|end| pdf.get(body..end)) else {
            continue;
        };
        if find(head, b"/FlateDecode").is_none() {
            found.push(bytes.to_vec());
        } else if let Some(bytes) = inflate(bytes) {
            found.push(bytes);
        }
    }
    found
}

fn inflate(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    let mut unpacked = flate2::read::ZlibDecoder::new(bytes).take(LARGEST);
    unpacked.read_to_end(&mut out).ok()?;
    Some(out)
}

fn number_behind(head: &[u8], key: &[u8]) -> Option<usize> {
    let at = find(head, key)? + key.len();
    let digits: Vec<u8> = head[at..].iter().copied().take_while(u8::is_ascii_digit).collect();
    String::from_utf8(digits).ok()?.parse().ok()
}

fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).position(|w| w == wanted)
}

fn rfind(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).rposition(|w| w == wanted)
}
