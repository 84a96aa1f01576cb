//! The page behind the printed code: well-formed, found by the link, and silent about what the firm does not publish.

use std::fs;
use std::path::{Path, PathBuf};

use roxmltree::{Document, Node, ParsingOptions};

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, change, names, read_bytes, root, short_contract, temporary, write};

const ALL: &str = "publish: { site: yes, client: yes, crew: yes, areas: yes, readings: yes, deviations: yes, certificate: yes, index: yes }";

fn make(copy: &Copy, more: &[&str]) -> Outcome {
    let output = copy.output();
    let output = output.to_str().expect("a temporary folder's name is text");
    decant(&copy.folder, [&["page", "job.yaml", "-o", output], more].concat())
}

/// The page of the only record.
fn record_page(folder: &Path) -> PathBuf {
    let entries = fs::read_dir(folder).expect("a folder of pages");
    let mut folders: Vec<PathBuf> =
        entries.map(|entry| entry.expect("an entry").path()).filter(|path| path.is_dir()).collect();
    assert_eq!(folders.len(), 1, "{folders:?}");
    folders.remove(0).join("index.html")
}

/// A page's text. The pages are written so that they are XML as well, which forgives nothing: no tag left open, nothing
/// unescaped, no attribute twice. A browser's parser sees them in `.ci/run`.
fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

pub(super) fn parsed(text: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(text, options).unwrap_or_else(|e| panic!("{e} in:\n{text}"))
}

/// All elements of a name; with `.` before it, of a class; with `@` before it, that have an attribute.
fn all<'a>(html: &'a Document<'a>, wanted: &str) -> Vec<Node<'a, 'a>> {
    let is = |node: &Node<'_, '_>| match (wanted.strip_prefix('.'), wanted.strip_prefix('@')) {
        (Some(class), _) => node.attribute("class").is_some_and(|all| all.split(' ').any(|one| one == class)),
        (_, Some(attribute)) => node.has_attribute(attribute),
        _ => node.tag_name().name() == wanted,
    };
    html.descendants().filter(|node| node.is_element() && is(node)).collect()
}

pub(super) fn words(html: &Document<'_>) -> String {
    let text: Vec<&str> = all(html, "body")[0].descendants().filter(Node::is_text).filter_map(|it| it.text()).collect();
    text.concat().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Nothing runs, nothing is fetched, nothing has two names.
pub(super) fn stands_alone(text: &str, html: &Document<'_>) {
    for forbidden in [
        "script", "img", "link", "iframe", "object", "embed", "form", "base", "@onload", "@onclick", "@onerror",
        "@style",
    ] {
        assert!(all(html, forbidden).is_empty(), "{forbidden}");
    }
    assert!(!text.contains("url(") && !text.contains("@import"));
    let mut ids: Vec<&str> = all(html, "@id").iter().filter_map(|it| it.attribute("id")).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id stands twice");
    for link in all(html, "@href") {
        let href = link.attribute("href").unwrap_or_default();
        assert!(href.starts_with("https://") || !href.contains(':'), "a link to {href}");
    }
    for labelled in all(html, "@aria-labelledby") {
        for id in labelled.attribute("aria-labelledby").unwrap_or_default().split(' ') {
            assert!(ids.contains(&id), "no #{id}");
        }
    }
}

#[test]
fn by_default_no_person_and_no_place_is_named() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company("publish:");
    make(&copy, &[]).must_end_with(0);
    assert_eq!(fs::read_dir(copy.output()).expect("pages").count(), 2, "an index and a folder");
    let text = read(&record_page(&copy.output()));
    let html = parsed(&text);
    stands_alone(&text, &html);
    for kept in [
        "Gull Point",
        "Breakwater",
        "Harbour Board",
        "Castellane",
        "harbour@",
        "Okafor",
        "Lindqvist",
        "Waiting hall",
        "Restrooms",
        "Counter tops",
        "rocked",
        "Keys at",
        "800 ppm",
        "office@",
    ] {
        assert!(!text.contains(kept), "{kept:?} is on the page");
    }
    let words = words(&html);
    for reported in [
        "2026-0413-",
        "Re-entry",
        "12:00 midnight",
        "Solvary Q-75",
        "00000-75",
        "1,140 ppm active",
        "555-0142",
        "555-0199",
        "SHA-256",
    ] {
        assert!(words.contains(reported), "no {reported:?} in {words}");
    }
    let index = read(&copy.output().join("index.html"));
    let _html = parsed(&index);
    assert!(!index.contains("2026-0413"), "the index lists a record");
}

#[test]
fn what_is_published_stands_there_and_the_contact_never_does() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company(ALL);
    decant(&copy.folder, ["render", "job.yaml", "--only", "certificate"]).must_end_with(0);
    make(&copy, &[]).must_end_with(0);
    let page = record_page(&copy.output());
    let text = read(&page);
    let html = parsed(&text);
    stands_alone(&text, &html);
    let said = words(&html);
    for reported in [
        "Gull Point Ferry Terminal",
        "1 Breakwater Road",
        "Port Ansel Harbour Board",
        "R. Okafor",
        "T-0101",
        "Waiting hall",
        "rocked",
        "below the band",
        "6:11 to 9:52 PM",
    ] {
        assert!(said.contains(reported), "no {reported:?} in {said}");
    }
    assert!(!said.contains("Castellane") && !said.contains("Keys at") && !said.contains('@'));
    // each reading is drawn, and said in words for whoever does not see the drawing
    assert_eq!(all(&html, ".chart").len(), 2);
    assert_eq!(all(&html, ".mark").len() + all(&html, ".cross").len(), 5);
    let alternative = all(&html, "desc")[1].text().unwrap_or_default();
    assert!(
        alternative.contains("> 1,000 to 1,200 ppm") && alternative.contains("Load 2: 800 ppm, below the band."),
        "{alternative}"
    );
    // the certificate lies beside it and has the digest that the page gives
    let folder = page.parent().expect("the record's folder");
    assert_eq!(names(folder), ["2026-0413-certificate.pdf", "index.html"]);
    let digest = crate::support::workspace::digests(folder)["2026-0413-certificate.pdf"].clone();
    assert!(said.replace(' ', "").contains(&digest), "{digest} is not on the page");
    assert_eq!(all(&html, "@download")[0].attribute("href"), Some("2026-0413-certificate.pdf"));
}

#[test]
fn the_digest_on_the_page_is_that_of_the_records_file() {
    let copy = Copy::of("fish-hall");
    decant(&copy.folder, ["render", "job.yaml", "--only", "mix-sheet"]).must_end_with(0);
    make(&copy, &[]).must_end_with(0);
    let record = crate::support::workspace::digests(&copy.folder.join("out"))["2026-0420-record.json"].clone();
    let text = read(&record_page(&copy.output()));
    let html = parsed(&text);
    assert!(words(&html).replace(' ', "").contains(&record), "{record}");
}

#[test]
fn before_the_work_the_page_says_that_nothing_is_certified() {
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "");
    copy.set_company(ALL);
    make(&copy, &[]).must_end_with(0);
    let page = record_page(&copy.output());
    let text = read(&page);
    let html = parsed(&text);
    let said = words(&html);
    assert!(said.contains("nothing is certified here"), "{said}");
    assert!(all(&html, "@download").is_empty() && all(&html, ".mark").is_empty());
    assert_eq!(names(page.parent().expect("a folder")), ["index.html"]);
}

#[test]
fn a_certificate_of_another_record_is_not_put_beside_the_page() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company(ALL);
    decant(&copy.folder, ["render", "job.yaml", "--only", "certificate"]).must_end_with(0);
    copy.change_job("T18:00", "T18:05");
    let run = make(&copy, &[]).must_end_with(0);
    assert!(run.stderr.contains("carries another record"), "{}", run.stderr);
    let page = record_page(&copy.output());
    assert_eq!(names(page.parent().expect("a folder")), ["index.html"]);
}

#[test]
fn what_is_no_longer_published_goes() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company(ALL);
    decant(&copy.folder, ["render", "job.yaml", "--only", "certificate"]).must_end_with(0);
    make(&copy, &[]).must_end_with(0);
    let page = record_page(&copy.output());
    let folder = page.parent().expect("a folder");
    write(folder.join("2026-0413-certificate-of-thanks.pdf"), "%PDF of somebody else");
    copy.change_company("certificate: yes", "certificate: no");
    make(&copy, &[]).must_end_with(0);
    assert_eq!(names(folder), ["2026-0413-certificate-of-thanks.pdf", "index.html"]);
}

#[test]
fn a_certificate_is_found_where_a_batch_put_it() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company(ALL);
    decant(&copy.folder, ["batch", "job.yaml", "-o", "all", "--only", "certificate"]).must_end_with(0);
    let run = make(&copy, &["--documents", "all"]).must_end_with(0);
    assert_eq!(run.stderr, "");
    let page = record_page(&copy.output());
    assert_eq!(names(page.parent().expect("a folder")), ["2026-0413-certificate.pdf", "index.html"]);
}

#[test]
fn the_index_keeps_what_earlier_runs_published_and_forgets_what_is_gone() {
    let (first, second) = (Copy::of("ferry-terminal"), Copy::of("fish-hall"));
    let output = first.output();
    let site = output.to_str().expect("text");
    decant(&first.folder, ["page", "job.yaml", "-o", site]).must_end_with(0);
    decant(&second.folder, ["page", "job.yaml", "-o", site]).must_end_with(0);
    let listed = || -> Vec<String> {
        let text = read(&output.join("index.html"));
        let html = parsed(&text);
        stands_alone(&text, &html);
        all(&html, "@href")
            .iter()
            .filter_map(|a| a.attribute("href").filter(|it| !it.starts_with('#')).map(str::to_owned))
            .collect()
    };
    let both = listed();
    assert_eq!(both.len(), 2, "{both:?}");
    assert!(both[0].starts_with("2026-0420-") && both[1].starts_with("2026-0413-"), "{both:?}");
    for href in &both {
        assert!(href.ends_with('/') && output.join(href).join("index.html").is_file(), "{href}");
    }
    // taken away by hand, or no longer to be listed
    fs::remove_dir_all(output.join(&both[1])).expect("a page is taken away");
    decant(&second.folder, ["page", "job.yaml", "-o", site]).must_end_with(0);
    assert_eq!(listed(), both[..1]);
    second.set_company("publish: { site: yes }");
    decant(&second.folder, ["page", "job.yaml", "-o", site]).must_end_with(0);
    assert!(listed().is_empty() && !output.join("records.json").exists());
}

#[test]
fn the_page_speaks_the_certificates_language() {
    for (language, lead, load) in
        [("es", "Registro de desinfección", "Carga 1"), ("fr", "Dossier de désinfection", "Charge 1")]
    {
        let copy = Copy::of("ferry-terminal");
        copy.set_company(&format!("languages: {{ certificate: {language} }}"));
        make(&copy, &[]).must_end_with(0);
        let text = read(&record_page(&copy.output()));
        let html = parsed(&text);
        assert_eq!(html.root_element().attribute("lang"), Some(language));
        let said = words(&html);
        assert!(said.contains(lead) && said.contains(load), "{said}");
    }
}

#[test]
fn a_link_that_no_static_host_can_follow_is_refused_at_its_place() {
    let copy = Copy::of("ferry-terminal");
    copy.change_company("https://records.tern-and-tide.example/{record}", "https://r.example/?r={record}");
    let run = make(&copy, &[]).must_end_with(2);
    assert!(run.stderr.contains("error[link-not-static]") && run.stderr.contains("record_link"), "{}", run.stderr);
    assert!(!copy.output().exists());
}

#[test]
fn the_same_jobs_give_the_same_bytes() {
    let made = || {
        let output = temporary();
        let folder = output.path().to_str().expect("text");
        decant(root(), ["page", "samples/ferry-terminal/job.yaml", "-o", folder]).must_end_with(0);
        (read_bytes(record_page(output.path())), read_bytes(output.path().join("index.html")))
    };
    assert_eq!(made(), made());
}

#[test]
fn the_index_of_a_contract_has_what_was_made_and_can_be_cut_down_without_a_script() {
    let tuesdays = "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }";
    let (folder, contract) = short_contract("2026-05-11", "2026-05-04", tuesdays, "20260413");
    let company = folder.path().join("company.yaml");
    // of one the log is not whole, of one it cannot be read
    write(contract.join("logs/house-20260413.yaml"), "loads: []\nareas: {}\n");
    write(contract.join("logs/north-20260427.yaml"), "loads: [\n");
    decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]);
    let publish = || decant(&contract, ["page", "contract.yaml", "-o", "site"]);
    let index = || read(&contract.join("site/index.html"));
    let run = publish().must_end_with(0);
    assert_eq!(run.stderr.matches(": its certificate is pending").count(), 2, "{}", run.stderr);
    let text = index();
    let html = parsed(&text);
    stands_alone(&text, &html);
    let rows: Vec<(String, String)> = all(&html, "tr")
        .into_iter()
        .skip(1)
        .map(|row| {
            let cells: Vec<String> = row
                .children()
                .filter(Node::is_element)
                .map(|cell| cell.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect())
                .collect();
            (cells[0].rsplit_once('-').expect("a number").0.to_owned(), cells[3].clone())
        })
        .collect();
    let row = |number: &str, state: &str| (number.to_owned(), state.to_owned());
    assert_eq!(
        rows,
        [
            row("north-20260427", "certificate pending"),
            row("gull-20260413", "done"),
            row("house-20260413", "certificate pending"),
            row("north-20260413", "done")
        ]
    );
    assert!(!read(&contract.join("site/records.json")).contains("planned"));
    // every visit has its page: its code is on containers already
    assert_eq!(fs::read_dir(contract.join("site")).expect("pages").count(), 9 + 2);
    // each choice has its rule, its rows, and says how many; all are of one month
    let choices: Vec<&str> =
        all(&html, ".choices")[0].descendants().filter_map(|it| it.attribute("href")?.strip_prefix('#')).collect();
    assert_eq!(choices.len(), 3, "{choices:?}");
    for choice in choices {
        assert!(text.contains(&format!("main:has(#{choice}:target) tbody tr:not(.{choice}) {{ display: none; }}")));
        let chosen =
            all(&html, ".chosen").into_iter().find(|it| it.attribute("id") == Some(choice)).expect("an anchor");
        let said: String = chosen.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect();
        let count = all(&html, &format!(".{choice}")).len();
        assert!(count > 0 && said.contains(&format!("({count})")), "{choice}: {count}, {said}");
    }
    // visits to come, by choice; and out again
    change(&company, "index: yes }", "index: yes, planned: yes }");
    publish().must_end_with(0);
    assert_eq!(all(&parsed(&index()), "tr").len(), 1 + 9);
    change(&company, "index: yes, planned: yes }", "index: yes }");
    publish().must_end_with(0);
    assert_eq!(all(&parsed(&index()), "tr").len(), 1 + 4);
    // a log that is done and whose certificate nobody has made
    fs::remove_file(contract.join("out/north-20260413/north-20260413-certificate.pdf")).expect("removed");
    publish().must_end_with(0);
    assert_eq!(index().matches("certificate pending").count(), 3);
    // of a certificate that was issued a page never says that it is pending
    write(contract.join("logs/gull-20260413.yaml"), "loads: [\n");
    let before = index();
    assert!(publish().must_end_with(2).stderr.contains("gull-20260413.yaml"));
    assert_eq!(index(), before);
}
