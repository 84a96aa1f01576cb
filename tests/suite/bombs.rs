//! Small files that stand for much: each is refused or read in time, within memory, and with few words. `DECANT_SHOW=1` prints what
//! each took.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::time::Duration;

use serde_json::json;

use crate::support::forged::{carrying, certificate, deflated, forged, record_of};
use crate::support::limits::decant_measured;
use crate::support::program::Outcome;
use crate::support::workspace::{Copy, read, read_bytes, root, sample_contract, temporary, write};

/// Runs, and checks time, memory and how much is said.
#[track_caller]
fn bounded(what: &str, folder: &Path, arguments: &[&str], code: i32) -> Outcome {
    let run = decant_measured(folder, arguments);
    if std::env::var_os("DECANT_SHOW").is_some() {
        println!("{what}: exit {:?}, {:?}, {} MiB", run.outcome.code, run.took, run.memory >> 10);
    }
    // at most a second and a half of a processor were measured
    assert!(run.took < Duration::from_secs(4), "{what} took {:?}", run.took);
    let outcome = run.must_end_with(code);
    let said = outcome.stdout.len() + outcome.stderr.len();
    assert!(said < 200_000, "{what}: {said} bytes of words");
    outcome
}

#[track_caller]
fn plan_of(what: &str, job: &str, part: &str) {
    let folder = temporary();
    write(folder.path().join("job.yaml"), job);
    let run = bounded(what, folder.path(), &["plan", "job.yaml"], 2);
    assert!(run.stderr.contains(part), "{what}: no {part:?} in:\n{}", &run.stderr[..run.stderr.len().min(2_000)]);
}

/// A key that is copied into the path of everything below it.
#[test]
fn a_key_of_a_megabyte_with_many_children() {
    let children: String = (0..20_000).map(|i| format!("  k{i}: 1\n")).collect();
    // YAML itself wants keys of that length announced
    plan_of("a long key", &format!("{}:\n{children}", "x".repeat(1 << 20)), "error[yaml-syntax]");
    let announced = format!("? {}\n:\n{children}", "x".repeat(1 << 20));
    plan_of("a long key, announced", &announced, "[yaml-key-too-long]");
    let keys: String = (0..20_000).map(|i| format!("  {}{i}: 1\n", "y".repeat(150))).collect();
    plan_of("long keys below a long key", &format!("{}:\n{keys}", "x".repeat(999)), "unknown-key");
    let deep: String = (0..100).map(|i| format!("{}{}:\n", " ".repeat(i), "d".repeat(900))).collect();
    let below: String = (0..20_000).map(|i| format!("{}k{i}: 1\n", " ".repeat(100))).collect();
    plan_of("long keys inside one another", &format!("{deep}{below}"), "[yaml-too-much]");
}

#[test]
fn twenty_thousand_unknown_keys() {
    let keys: String = (0..20_000).map(|i| format!("surplus_{i}: 1\n")).collect();
    plan_of("unknown keys", &keys, " more; mend these first");
    let long: String = (0..900).map(|i| format!("{}{i}: 1\n", "company".repeat(140))).collect();
    plan_of("long unknown keys", &long, "more; mend these first");
}

#[test]
fn aliases_and_merges() {
    let wide: String = (0..1_000).map(|i| format!("  k{i}: v\n")).collect();
    let aliases: String = (0..10_000).map(|i| format!("a{i}: *w\n")).collect();
    plan_of("aliases", &format!("w: &w\n{wide}{aliases}"), "[yaml-too-much]");
    let merges: String = (0..10_000).map(|i| format!("a{i}: {{ <<: *w }}\n")).collect();
    plan_of("merges", &format!("w: &w\n{wide}{merges}"), "[yaml-too-much]");
    let list = "*w, ".repeat(20_000);
    plan_of("a wide merge", &format!("w: &w\n{wide}a: {{ <<: [{list}] }}\n"), "[yaml-too-much]");
    let nine: String = (1..9).fold("a0: &a0 [x,x,x,x,x,x,x,x,x]\n".to_owned(), |text, i| {
        let list = vec![format!("*a{}", i - 1); 9].join(",");
        text + &format!("a{i}: &a{i} [{list}]\n")
    });
    plan_of("aliases of aliases", &nine, "error[yaml-alias-bomb]");
    plan_of("values", &"- 1\n".repeat(250_000), "[yaml-too-much]");
    plan_of("lists in lists", &"- ".repeat(500_000), "error[yaml-");
    plan_of("question marks", &"? ".repeat(500_000), "error[");
}

/// A word of a language that is not known is compared with all that are.
#[test]
fn a_language_file_of_unknown_words() {
    let copy = Copy::of("fish-hall");
    let english = read(root().join("templates/lang/en.yaml"));
    let mut more = english.replace("language: en", "language: pt");
    for i in 0..18_000 {
        let _ = writeln!(more, "certificate_deviation_{i}: some text");
    }
    assert!(more.len() > 600_000);
    write(copy.folder.join("own.yaml"), &more);
    let run = bounded("a language file", &copy.folder, &["plan", "job.yaml", "--language", "own.yaml"], 2);
    assert!(run.stderr.matches("language-unknown-key").count() == 50, "{}", run.stderr.len());
}

/// Sums of fractions with large lower figures have as many digits as all of them together.
#[test]
fn areas_in_long_fractions() {
    let copy = Copy::of("fish-hall");
    let text = read(copy.folder.join("job.yaml"));
    let (head, _) = text.split_once("\nareas:").expect("areas");
    let areas = |size: &dyn Fn(u64) -> String| {
        (0..1_000).fold(format!("{head}\nareas:\n"), |text, i| text + &format!("  a{i}: {{ floor: {} }}\n", size(i)))
    };
    for (what, size) in [
        ("39 digits", (&|i: u64| format!("1/{}{:05} ft2", "7".repeat(34), 2 * i + 1)) as &dyn Fn(u64) -> String),
        ("39 decimals", &|i: u64| format!("0.{}{i:05} ft2", "7".repeat(34))),
    ] {
        write(copy.folder.join("job.yaml"), areas(size));
        let run = bounded(what, &copy.folder, &["plan", "job.yaml"], 2);
        assert!(run.stderr.contains("bad-quantity"), "{}", &run.stderr[..1_000]);
    }
}

#[test]
fn a_log_with_a_fault_in_every_row() {
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "log: log.csv");
    write(copy.folder.join("log.csv"), format!("what,load\n{}", "laod,1\n".repeat(40_000)));
    let run = bounded("a table of faults", &copy.folder, &["data", "job.yaml", "certificate"], 3);
    assert_eq!(run.stderr.matches("table-unknown-kind").count(), 50);
}

#[test]
fn a_table_of_sites_with_a_fault_in_every_row() {
    let (_folder, contract) = sample_contract();
    let head = "Code,Site,Street,Town,Postcode,Kind,Van,Stop,Hall,Restrooms,Counters (ft2),Benches (ft2)\n";
    let rows: String =
        (0..40_000).map(|i| format!("s{i},Site,Street,Town,00417,nothing,north,1,40 gal,none,1/0,x\n")).collect();
    write(contract.join("sites.csv"), format!("{head}{rows}"));
    bounded("a table of faulty sites", &contract, &["expand", "contract.yaml", "-o", "out"], 2);
    write(contract.join("sites.csv"), format!("{}\n", ",".repeat(999)).repeat(16_000));
    bounded("a table of commas", &contract, &["expand", "contract.yaml", "-o", "out"], 2);
}

const SHEET: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";

/// A workbook of one sheet, with these parts put together by hand: no spreadsheet would write them.
fn workbook(rows: &str, after: &str, styles: &str) -> Vec<u8> {
    let relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let package = "http://schemas.openxmlformats.org/package/2006";
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in [
        (
            "[Content_Types].xml",
            format!(
                r#"<Types xmlns="{package}/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>"#
            ),
        ),
        (
            "_rels/.rels",
            format!(
                r#"<Relationships xmlns="{package}/relationships"><Relationship Id="r1" Type="{relations}/officeDocument" Target="xl/workbook.xml"/></Relationships>"#
            ),
        ),
        (
            "xl/workbook.xml",
            format!(
                r#"<workbook xmlns="{SHEET}" xmlns:r="{relations}"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>"#
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                r#"<Relationships xmlns="{package}/relationships"><Relationship Id="r1" Type="{relations}/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="{relations}/styles" Target="styles.xml"/></Relationships>"#
            ),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!(r#"<worksheet xmlns="{SHEET}"><sheetData>{rows}</sheetData>{after}</worksheet>"#),
        ),
        ("xl/styles.xml", format!(r#"<styleSheet xmlns="{SHEET}">{styles}</styleSheet>"#)),
    ] {
        let options = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
        zip.start_file(name, options).expect("a part");
        zip.write_all(content.as_bytes()).expect("its content");
    }
    zip.finish().expect("a workbook").into_inner()
}

fn cell(name: &str, text: &str) -> String {
    format!(r#"<c r="{name}" t="inlineStr"><is><t>{text}</t></is></c>"#)
}

#[test]
fn workbooks_that_swell() {
    let (_folder, contract) = sample_contract();
    let text = read(contract.join("contract.yaml"));
    write(contract.join("contract.yaml"), text.replace("sites.csv", "sites.xlsx"));
    let head = format!(r#"<row r="1">{}{}</row>"#, cell("A1", "Code"), cell("B1", "Site"));
    let tall: String = (2..=50_000).map(|i| format!(r#"<row r="{i}">{}</row>"#, cell(&format!("A{i}"), "x"))).collect();
    let wide: String =
        (2..=50_000).map(|i| format!(r#"<row r="{i}">{}</row>"#, cell(&format!("ALL{i}"), "x"))).collect();
    let merges = |count: usize| {
        let all: String = (0..count).map(|_| r#"<mergeCell ref="A1:XFD50000"></mergeCell>"#).collect();
        format!("<mergeCells>{all}</mergeCells>")
    };
    let format_code = "0".repeat(20_000);
    let formats: String = (0..60_000).map(|_| r#"<xf numFmtId="200"></xf>"#).collect();
    let styles = format!(
        r#"<numFmts><numFmt numFmtId="200" formatCode="{format_code}"></numFmt></numFmts><cellXfs>{formats}</cellXfs>"#
    );
    let styled: String =
        (2..=50_000).map(|i| format!(r#"<row r="{i}"><c r="A{i}" s="1"><v>7</v></c></row>"#)).collect();
    let one_style = format!(
        r#"<numFmts><numFmt numFmtId="200" formatCode="{}"></numFmt></numFmts><cellXfs><xf numFmtId="0"></xf><xf numFmtId="200"></xf></cellXfs>"#,
        "0".repeat(100_000)
    );
    for (what, bytes) in [
        ("a million merged ranges", workbook(&head, &merges(400_000), "")),
        ("whole-sheet ranges", workbook(&format!("{head}{tall}"), &merges(900), "")),
        ("a cell far out in each row", workbook(&format!("{head}{wide}"), "", "")),
        ("formats", workbook(&head, "", &styles)),
        ("cells of one long format", workbook(&format!("{head}{styled}"), "", &one_style)),
        ("a text of 60 MB", workbook(&format!(r#"<row r="1">{}</row>"#, cell("A1", &"x".repeat(60 << 20))), "", "")),
        ("tags", workbook(&"<row></row>".repeat(5_000_000), "", "")),
    ] {
        assert!(bytes.len() < 1_500_000, "{what}: {} bytes", bytes.len());
        write(contract.join("sites.xlsx"), bytes);
        bounded(what, &contract, &["expand", "contract.yaml", "-o", "out"], 2);
    }
}

fn svg(inner: &str) -> Vec<u8> {
    let spaces = r#"xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink""#;
    format!(r#"<svg {spaces} viewBox="0 0 40 10" width="40" height="10">{inner}</svg>"#).into_bytes()
}

/// Drawings that take minutes, or end the process: each refused, or drawn in time.
fn hostile_drawings() -> Vec<(&'static str, Vec<u8>)> {
    let rect = "<rect width='9' height='9' fill='red'/>";
    let chain = |element: &str, reference: &str, levels: usize| -> String {
        let inner = |i: usize| match i {
            0 => rect.repeat(2),
            _ => format!("<rect width='9' height='9' {reference}='url(#n{})'/>", i - 1).repeat(4),
        };
        let all: String = (0..levels)
            .map(|i| format!("<{element} id='n{i}' width='9' height='9'>{}</{element}>", inner(i)))
            .collect();
        format!("<defs>{all}</defs><rect width='9' height='9' {reference}='url(#n{})'/>", levels - 1)
    };
    let by_class: String = {
        let rules: String = (0..30).map(|i| format!(".c{i}{{mask:url(#n{i})}}")).collect();
        let masks: String = (0..30)
            .map(|i| {
                format!(
                    "<mask id='n{i}'>{}</mask>",
                    format!("<rect width='9' height='9' class='c{}'/>", i + 1).repeat(3)
                )
            })
            .collect();
        format!("<style>{rules}</style><defs>{masks}</defs><rect width='9' height='9' class='c0'/>")
    };
    let by_tag = "<style>rect{clip-path:url(#n)}</style><clipPath id='n'><path d='M0 0h9v9z'/></clipPath><rect width='9' height='9'/>";
    let long = format!("M0 0{}", "l1 1 1 -1".repeat(100_000));
    let stops = "<stop offset='.5'/>".repeat(45_000);
    let attributes: String = (0..90_000).map(|i| format!(" a{i}=''")).collect();
    let gradients: String = (0..9_000)
        .map(|i| {
            format!(
                "<linearGradient id='g{i}' xlink:href='#g{}'/><rect width='9' height='9' fill='url(#g{i})'/>",
                i + 1
            )
        })
        .collect();
    let rules: String = (0..30_000).map(|i| format!(".k{i}{{fill:red}}")).collect();
    vec![
        ("nested masks", svg(&chain("mask", "mask", 20))),
        ("nested patterns", svg(&chain("pattern", "fill", 20))),
        ("nested clips", svg(&chain("clipPath", "clip-path", 20))),
        ("nested markers", svg(&chain("marker", "marker-mid", 9))),
        ("masks by class", svg(&by_class)),
        ("a clip by tag", svg(by_tag)),
        (
            "turbulence",
            svg(
                "<filter id='f'><feTurbulence baseFrequency='.001' numOctaves='9999'/></filter><rect width='40' height='10' filter='url(#f)'/>",
            ),
        ),
        (
            "a long path",
            svg(&format!("<path stroke='red' stroke-dasharray='.0001' stroke-linejoin='round' d='{long}'/>")),
        ),
        ("a long path, often", svg(&format!("<path id='p' d='{long}'/>{}", "<use xlink:href='#p'/>".repeat(2_000)))),
        (
            "many colors",
            svg(&format!("<linearGradient id='g'>{stops}</linearGradient><rect width='9' height='9' fill='url(#g)'/>")),
        ),
        ("many attributes", svg(&format!("<rect{attributes}/>"))),
        ("gradients in a row", svg(&gradients)),
        ("many rules", svg(&format!("<style>{rules}</style>{}", rect.repeat(9_000)))),
        ("many names", svg(&(0..12_000).map(|i| format!("<g xmlns:n{i}='u{i}'>{rect}</g>")).collect::<String>())),
        ("an empty picture", picture(4_000, 4_000, &[])),
        ("a picture with a profile", picture(10, 10, &deflated(&vec![0; 200 << 20]))),
    ]
}

/// A PNG of zeros with a color profile, packed.
fn picture(width: u32, height: u32, profile: &[u8]) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |kind: &[u8; 4], content: &[u8]| {
        let body = [kind.as_slice(), content].concat();
        let length = u32::try_from(content.len()).expect("short");
        bytes.extend_from_slice(&length.to_be_bytes());
        bytes.extend_from_slice(&body);
        bytes.extend_from_slice(&crc(&body).to_be_bytes());
    };
    let head = [width.to_be_bytes().as_slice(), &height.to_be_bytes(), &[16, 6, 0, 0, 0]].concat();
    chunk(b"IHDR", &head);
    if !profile.is_empty() {
        chunk(b"iCCP", &[b"a\0\0".as_slice(), profile].concat());
    }
    let row = 1 + 8 * width as usize;
    chunk(b"IDAT", &deflated(&vec![0; row * height as usize]));
    chunk(b"IEND", &[]);
    bytes
}

/// The check sum of a chunk (PNG, third edition, 5.5).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 })
    })
}

#[test]
fn logos_that_take_long() {
    let copy = Copy::of("fish-hall");
    for (what, bytes) in hostile_drawings() {
        // a path that is only long is drawn
        let code = i32::from(what != "a long path") * 2;
        assert!(bytes.len() < 1 << 20, "{what}: {} bytes", bytes.len());
        write(copy.company_folder().join("logo.svg"), bytes);
        let run = bounded(what, &copy.folder, &["render", "job.yaml", "-o", "out", "--only", "mix-sheet"], code);
        assert!(code == 0 || run.stderr.contains("error[bad-logo]"), "{what}: {}", run.stderr);
    }
}

/// The same drawings in a stranger's certificate, whose digests are all sound.
#[test]
fn a_strangers_certificate_with_a_logo_that_takes_long() {
    let record = record_of(&certificate("fish-hall"));
    let folder = temporary();
    for (what, bytes) in hostile_drawings() {
        let pdf = forged(record.clone(), Some(&bytes));
        write(folder.path().join("x.pdf"), pdf);
        let run = bounded(&format!("attached: {what}"), folder.path(), &["verify", "x.pdf"], 1);
        assert!(run.stdout.contains("ALTERED"), "{what}: {}", run.stdout);
    }
}

#[test]
fn a_strangers_certificate_that_swells() {
    let folder = temporary();
    let check = |what: &str, name: &str, bytes: Vec<u8>, code: i32| {
        write(folder.path().join(name), bytes);
        bounded(what, folder.path(), &["verify", name], code)
    };
    let bomb = vec![b' '; 63 << 20];
    check("60 bombs", "x.pdf", carrying(&vec![bomb.clone(); 60]), 2);
    check("one bomb", "x.pdf", carrying(&[bomb]), 1);
    let overlapping = "1 0 obj<</Type/EmbeddedFile/Length 1900000>>stream\n".repeat(37_000);
    check("lengths that overlap", "x.pdf", format!("%PDF-1.7\n{overlapping}").into_bytes(), 1);
    check("brackets", "x.pdf", [b"%PDF-1.7\n1 0 obj".to_vec(), vec![b'['; 1_000_000]].concat(), 2);
    check("marks", "x.pdf", format!("%PDF-1.7\n{}", "/Type/EmbeddedFile".repeat(50_000)).into_bytes(), 1);
    let record = format!("{{\"form\":\"decant record 1\",\"plan\":[{}1]}}", "[],".repeat(13_000_000));
    let run = check("a record of 40 MB", "x-record.json", record.clone().into_bytes(), 2);
    assert!(run.stdout.contains("larger than"), "{}", run.stdout);
    check("the same, packed", "x.pdf", carrying(&[record.into_bytes()]), 1);
    let values = format!("{{\"form\":\"decant record 1\",\"plan\":[{}1]}}", "[],".repeat(1_000_000));
    check("a record of a million values", "x-record.json", values.into_bytes(), 2);
}

/// A record whose page would be of thousands of pages: it is of no job that anybody did, and drawing it would take minutes.
#[test]
fn a_strangers_certificate_with_a_page_that_takes_long() {
    let folder = temporary();
    let logo = read_bytes(root().join("samples/logo.svg"));
    let sound = record_of(&certificate("fish-hall"));
    let mut rows = sound.clone();
    let row = rows["certificate"]["data"]["areas"][0].clone();
    rows["certificate"]["data"]["areas"] = json!(vec![row; 20_000]);
    let mut text = sound.clone();
    text["certificate"]["data"]["lead"] = json!("a b ".repeat(240_000));
    let mut word = sound.clone();
    word["certificate"]["data"]["lead"] = json!("a".repeat(900_000));
    let mut deep = sound;
    deep["certificate"]["data"]["deviations"] = json!(vec!["x"; 200_000]);
    for (what, record) in [("rows", rows), ("a long text", text), ("a long word", word), ("deviations", deep)] {
        write(folder.path().join("x.pdf"), forged(record, Some(&logo)));
        let run = bounded(&format!("a page of {what}"), folder.path(), &["verify", "x.pdf"], 3);
        assert!(run.stdout.contains("NOT CHECKED: the page was not drawn again"), "{what}: {}", run.stdout);
    }
}

/// The longest page that is still drawn again.
#[test]
fn the_longest_page_that_is_drawn_is_drawn_in_time() {
    let folder = temporary();
    let logo = read_bytes(root().join("samples/logo.svg"));
    let sound = record_of(&certificate("fish-hall"));
    let mut rows = sound.clone();
    let row = rows["certificate"]["data"]["areas"][0].clone();
    let fields = row.as_object().map_or(1, serde_json::Map::len) + 1;
    rows["certificate"]["data"]["areas"] = json!(vec![row; 5_700 / fields]);
    let mut text = sound;
    text["certificate"]["data"]["deviations"] = json!(vec!["a b ".repeat(2_400); 40]);
    for (what, record) in [("rows", rows), ("text", text)] {
        write(folder.path().join("x.pdf"), forged(record, Some(&logo)));
        let run = bounded(&format!("the longest page of {what}"), folder.path(), &["verify", "x.pdf"], 1);
        assert!(run.stdout.contains("the PDF is not the one that its record gives"), "{what}: {}", run.stdout);
    }
}
