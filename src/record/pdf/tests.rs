use std::fmt::Write as _;
use std::io::Write as _;
use std::time::{Duration, Instant};

use super::*;

fn deflated(bytes: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
    packer.write_all(bytes).expect("memory takes bytes");
    packer.finish().expect("memory takes bytes")
}

fn object(number: u32, dict: &str, body: &[u8]) -> Vec<u8> {
    let head = format!("{number} 0 obj\n<<{dict}/Length {}>>\nstream\n", body.len());
    [head.as_bytes(), body, b"\nendstream\nendobj\n"].concat()
}

fn pdf(objects: &[Vec<u8>]) -> Vec<u8> {
    [b"%PDF-1.7\n%\x80\x80\x80\x80\n".to_vec(), objects.concat()].concat()
}

fn refusal(pdf: &[u8]) -> String {
    carried(pdf).expect_err("beyond a bound").to_string()
}

#[test]
fn files_are_found_plain_packed_and_named_from_within_an_object_stream() {
    let plain = object(1, "/Type/EmbeddedFile", b"one endstream within");
    let packed = object(2, "/Filter[/FlateDecode]/Type /Embedded#46ile", &deflated(b"two"));
    // the third has no type, and the dictionary that names it is packed itself
    let third = object(3, "/Filter /FlateDecode /Subtype/application#2Fjson", &deflated(b"three"));
    let names = b"7 0 <</Type/Filespec /F (a \\) b) /EF << /F 3 0 R /UF 3 0 R>> /X <0a> /Y [1 2 -3.5 true null]>>";
    let named = object(8, "/Type/ObjStm/N 1/First 4/Filter/FlateDecode", &deflated(names));
    let other = object(4, "/Type/XObject", b"no file");
    let found = carried(&pdf(&[plain, packed, other, third, named])).expect("within bounds");
    assert_eq!(found.files, [b"one endstream within".to_vec(), b"two".to_vec(), b"three".to_vec()]);
    assert!(found.packed && !found.encrypted);
}

#[test]
fn a_length_that_lies_or_stands_elsewhere_is_not_needed() {
    for length in ["3", "99999", "9 0 R", "99999999999999999999", "(x)"] {
        let text = format!("1 0 obj <</Type/EmbeddedFile/Length {length}>> stream\r\nwhole\nendstream endobj");
        let found = carried(text.as_bytes()).expect("within bounds");
        assert_eq!(found.files.len(), 1, "{length}");
        assert!(found.files[0].starts_with(b"whole"), "{length}");
    }
}

#[test]
fn what_is_packed_otherwise_or_encrypted_is_said() {
    for dict in [
        "/Filter/LZWDecode",
        "/Filter[/FlateDecode/FlateDecode]",
        "/Filter 7 0 R",
        "/Filter/FlateDecode/DecodeParms<<>>",
    ] {
        let file = object(1, &format!("/Type/EmbeddedFile{dict}"), &deflated(b"x"));
        let found = carried(&pdf(&[file])).expect("within bounds");
        assert_eq!((found.files.len(), found.unknown), (0, 1), "{dict}");
    }
    assert!(carried(b"%PDF-1.7\ntrailer <</Encrypt 4 0 R>>").expect("within bounds").encrypted);
    assert!(carried(&object(1, "/Type/XRef/Encrypt 4 0 R", b"")).expect("within bounds").encrypted);
}

/// Sixty files of 64 MiB each in 4 MB: 2 GB, were they unpacked.
#[test]
fn what_swells_is_refused() {
    let bomb = deflated(&vec![0; 64 << 20]);
    let bombs: Vec<Vec<u8>> = (1..=3).map(|i| object(i, "/Type/EmbeddedFile/Filter/FlateDecode", &bomb)).collect();
    assert!(refusal(&pdf(&bombs)).contains("unpacks to more than 64 MiB"));
    let packed: Vec<Vec<u8>> = (1..=3).map(|i| object(i, "/Type/ObjStm/First 0/Filter/FlateDecode", &bomb)).collect();
    assert!(refusal(&pdf(&packed)).contains("unpacks to more than 64 MiB"));
    let many: Vec<Vec<u8>> = (1..=17).map(|i| object(i, "/Type/EmbeddedFile", b"x")).collect();
    assert!(refusal(&pdf(&many)).contains("more than 16 files"));
    assert!(refusal(&[b"1 0 obj ".to_vec(), b"[".repeat(2_000)].concat()).contains("inside one another"));
    assert!(refusal(&[b"1 0 obj ".to_vec(), b"<</A".repeat(50_000)].concat()).contains("inside one another"));
    assert!(refusal(&[b"1 0 obj [".to_vec(), b"0 ".repeat(1_100_000)].concat()).contains("more than 1000000 values"));
    assert!(refusal(&object(1, "", b"").repeat(50_001)).contains("more than 50000 streams"));
    assert!(refusal(&vec![b' '; LARGEST_PDF + 1]).contains("larger than 32 MiB"));
}

/// Every shape that a reader could be made to go over again and again, as 1 MB: the time is that of one pass.
#[test]
fn one_pass_over_a_megabyte_takes_no_time() {
    let mut shapes: Vec<Vec<u8>> = Vec::new();
    for piece in [
        "1 0 obj<</Length 9>>stream\n",
        "1 0 obj<</Type/EmbeddedFile/Length 999999>>stream\nendstrea",
        "1 0 obj(",
        "1 0 obj<",
        "1 0 obj",
        "1 1 1 ",
        "%",
        "% \n",
        "1 %\n",
        "(((\\",
        "stream",
        "trailer<<",
        "/EF<</F 1 0 R>>",
        "1 0 obj<</EF<</F 1 0 R>>>>",
        "11111111111",
        "/Type/EmbeddedFile",
        "endstream",
        "<<>>",
        "\0",
    ] {
        shapes.push(piece.repeat(1_000_000 / piece.len()).into_bytes());
    }
    let mut digits = String::from("1 0 obj[");
    for i in 0..100_000 {
        let _ = write!(digits, "{i} {i} ");
    }
    shapes.push(digits.into_bytes());
    for shape in shapes {
        let began = Instant::now();
        let _ = carried(&shape);
        let head = String::from_utf8_lossy(&shape[..30]).into_owned();
        // it takes a twentieth of a second, and looking twice at each byte's rest would take minutes: enough for a busy machine
        assert!(began.elapsed() < Duration::from_secs(5), "{head:?}: {:?}", began.elapsed());
    }
}
