//! `decant new`: what it writes works at once, says that it is an example, and never takes the place of anything.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use calamine::{Data, Reader, Xlsx, open_workbook};
use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{change, json, names, read, says, temporary, write};

const BEGIN: [&str; 8] =
    ["--no-questions", "--start", "2026-04-13T18:00", "--job", "first", "--licence", "T-1", "--kind"];

/// A folder with the files that `decant new` writes.
fn begun(kind: &str) -> (TempDir, PathBuf) {
    let folder = temporary();
    decant(folder.path(), ["new", "shop"].iter().chain(&BEGIN).chain(&[kind])).must_end_with(0);
    let shop = folder.path().join("shop");
    (folder, shop)
}

/// As whoever goes through the first product leaves it.
fn checked(shop: &Path) {
    let file = shop.join("company.yaml");
    write(
        &file,
        read(&file).replacen("label_checked: no", "label_checked: yes", 1).replace("records.example", "r.example"),
    );
    nothing_invented(shop);
}

fn products_on_labels(shop: &Path) -> Vec<Value> {
    let data = decant(shop, ["data", "job.yaml", "labels"]).must_end_with(0).stdout;
    let data: Value = serde_json::from_str(&data).expect("JSON");
    let stocks = data.as_object().expect("stocks").values();
    stocks.flat_map(|stock| stock["labels"].as_array().expect("labels").clone()).map(|l| l["product"].clone()).collect()
}

#[test]
fn every_kind_renders_at_once_and_says_draft_until_its_label_was_compared() {
    for kind in ["quat", "hypochlorite", "peracetic-acid", "hydrogen-peroxide", "alcohol", "chlorine-tablets"] {
        let (_folder, shop) = begun(kind);
        decant(&shop, ["render", "job.yaml", "--only", "labels", "--only", "mix-sheet"]).must_end_with(0);
        assert!(products_on_labels(&shop).iter().all(|name| name.as_str().is_some_and(|n| n.starts_with("DRAFT: "))));
        let sheet: Value =
            serde_json::from_str(&decant(&shop, ["data", "job.yaml", "mix-sheet"]).stdout).expect("JSON");
        assert_eq!(sheet["draft"], true);
        let plan = decant(&shop, ["plan", "job.yaml"]).must_end_with(0);
        says(&plan.stdout, &["[label-not-checked]"]);
        checked(&shop);
        decant(&shop, ["render", "job.yaml", "--only", "labels", "--only", "mix-sheet"]).must_end_with(0);
        assert!(products_on_labels(&shop).iter().all(|name| name.as_str().is_some_and(|n| n.starts_with("EXAMPLE "))));
        let plan = decant(&shop, ["plan", "job.yaml"]).must_end_with(0);
        assert!(!plan.stdout.contains("label-not-checked"), "{kind}: {}", plan.stdout);
    }
}

/// One word changes nothing: every key that nobody gave is named, and the link of an example is on no certificate.
#[test]
fn what_was_invented_is_never_taken_for_checked() {
    let folder = temporary();
    let own =
        ["--product", "Solvary Q-75", "--actives", "didecyldimethylammonium chloride 7173-51-5 8.7 %", "--hazards"];
    let more = ["H314, H318", "--stated-strength", "1300 ppm", "--keeps", "none", "--no-questions"];
    decant(folder.path(), ["new", "shop"].iter().chain(&own).chain(&more)).must_end_with(0);
    let shop = folder.path().join("shop");
    let company = read(shop.join("company.yaml"));
    says(&company, &["content: \"8.7 %\"", "cas: 7173-51-5", "hazards: [H314, H318]", "stated_strength: 1300 ppm"]);
    let first = company.split("example-").next().unwrap_or_default();
    assert!(!first.contains("keeps:") && !first.contains("didecyldimethylammonium chloride 7173"), "{first}");
    write(shop.join("company.yaml"), company.replacen("label_checked: no", "label_checked: yes", 1));
    let run = decant(&shop, ["render", "job.yaml"]).must_end_with(2);
    let named = [
        "still-invented",
        "`registration`",
        "`sds.revised`",
        "`density`",
        "`strip`",
        "`directions.hard-surface.dilution`",
    ];
    says(&run.stderr, &named);
    for given in ["`ingredients`", "`sds.hazards`", "`name`", "`keeps`", "`directions.hard-surface.stated_strength`"] {
        assert!(!run.stderr.contains(given), "{given} in {}", run.stderr);
    }
    nothing_invented(&shop);
    let plan = decant(&shop, ["plan", "job.yaml"]).must_end_with(0);
    says(&plan.stdout, &["[link-invented]"]);
    says(&decant(&shop, ["render", "job.yaml", "--only", "certificate"]).must_end_with(3).stderr, &["`record_link`"]);
}

fn nothing_invented(shop: &Path) {
    let file = shop.join("company.yaml");
    let text = read(&file);
    let (before, rest) = text.split_once("invented: [").expect("what is invented");
    let (_, after) = rest.split_once(']').expect("the end of a list");
    write(&file, format!("{before}invented: []{after}"));
}

#[test]
fn nothing_that_is_there_is_written_over() {
    let (folder, shop) = begun("quat");
    write(shop.join("company.yaml"), "mine");
    let again = decant(folder.path(), ["new", "shop"].iter().chain(&BEGIN).chain(&["quat"])).must_end_with(2);
    says(&again.stderr, &["company.yaml", "written over"]);
    assert_eq!(read(shop.join("company.yaml")), "mine");
    let other = folder.path().join("other");
    fs::create_dir(&other).expect("a folder");
    write(other.join("job.yaml"), "mine");
    decant(folder.path(), ["new", "other"].iter().chain(&BEGIN).chain(&["quat"])).must_end_with(2);
    assert_eq!(names(&other), ["job.yaml"]);
}

#[test]
fn answers_that_cannot_stand_are_named_together_and_nothing_is_written() {
    let folder = temporary();
    let options =
        ["new", "shop", "--no-questions", "--dilution", "2000 gal/gal", "--contact-time", "soon", "--signal", "Beware"];
    let run = decant(folder.path(), options).must_end_with(2);
    says(&run.stderr, &["--dilution", "--contact-time", "--signal", "soon"]);
    assert!(!folder.path().join("shop").exists());
}

/// The blanks of a log in YAML, filled in.
fn filled(log: &str) -> String {
    let mut out = String::new();
    for line in log.lines().filter(|line| !line.starts_with('#')) {
        let value = match line.trim() {
            "mixed:" => "2026-04-13T18:05",
            "by:" => "A. Example",
            "lot:" => "L-1",
            "reading:" => "1,600 ppm",
            "started:" => "2026-04-13T18:06",
            "finished:" => "2026-04-13T18:12",
            "wet_until:" => "2026-04-13T18:24",
            _ => "",
        };
        out += &format!("{line} {value}\n");
    }
    out
}

#[test]
fn a_log_with_blanks_certifies_nothing_and_one_that_is_filled_in_does() {
    let (_folder, shop) = begun("quat");
    checked(&shop);
    decant(&shop, ["new", "log", "job.yaml"]).must_end_with(0);
    decant(&shop, ["new", "log", "job.yaml", "-o", "log.csv"]).must_end_with(0);
    let job = read(shop.join("job.yaml"));
    let log = read(shop.join("log.yaml"));
    for name in ["log.yaml", "log.csv"] {
        write(shop.join("job.yaml"), format!("{job}\nlog: {name}\n"));
        let run = decant(&shop, ["render", "job.yaml"]).must_end_with(3);
        says(
            &run.stderr,
            &[
                "The certificate is withheld",
                "load 1, still to write down: Mixed",
                "area `Counter tops`, still to write down: Started",
            ],
        );
        assert!(!run.stderr.contains("cannot be used"), "{}", run.stderr);
        assert!(!names(&shop.join("out")).iter().any(|name| name.contains("certificate")));
    }
    write(shop.join("log.yaml"), filled(&log));
    let csv = read(shop.join("log.csv"));
    let head: Vec<&str> = csv.trim_start_matches('\u{feff}').lines().next().expect("a head").split(',').collect();
    let row = |row: &str| {
        let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
        let mut put = |column: &str, value: &str| {
            let at = head.iter().position(|name| *name == column).unwrap_or_else(|| panic!("no column {column}"));
            cells[at] = value.to_owned();
        };
        match row.split(',').next() {
            Some("load") => {
                put("mixed", "2026-04-13 18:05");
                put("by", "A. Example");
                put("lot", "L-1");
                put("reading", "1600 ppm");
            }
            Some("area") => {
                put("started", "2026-04-13 18:06");
                put("finished", "2026-04-13 18:12");
                put("wet_until", "2026-04-13 18:24");
            }
            // nobody watched a spot: its blank stays
            row => assert_eq!(row, Some("check")),
        }
        cells.join(",")
    };
    let rows: Vec<String> = csv.lines().skip(1).map(row).collect();
    write(shop.join("log.csv"), format!("{}\n{}\n", head.join(","), rows.join("\n")));
    for name in ["log.yaml", "log.csv"] {
        write(shop.join("job.yaml"), format!("{job}\nlog: {name}\n"));
        decant(&shop, ["render", "job.yaml", "-o", name.trim_start_matches("log.")]).must_end_with(0);
    }
    // nobody compared the product: the same log certifies nothing
    change(&shop.join("company.yaml"), "label_checked: yes", "label_checked: no");
    let run = decant(&shop, ["render", "job.yaml", "-o", "unchecked"]).must_end_with(3);
    says(&run.stderr, &["treatment 1: nobody has compared its product with the label"]);
    assert!(!names(&shop.join("unchecked")).iter().any(|name| name.contains("certificate")));
    let draft = decant(&shop, ["render", "job.yaml", "-o", "draft", "--draft", "--only", "certificate"]);
    draft.must_end_with(0);
    assert_eq!(json(shop.join("draft/first-record.json"))["certificate"], Value::Null);
}

#[test]
fn the_workbook_holds_what_the_table_holds() {
    let (_folder, shop) = begun("chlorine-tablets");
    decant(&shop, ["new", "log", "job.yaml", "--format", "csv"]).must_end_with(0);
    decant(&shop, ["new", "log", "job.yaml", "-o", "log.xlsx"]).must_end_with(0);
    let first = fs::read(shop.join("log.xlsx")).expect("a workbook");
    decant(&shop, ["new", "log", "job.yaml", "-o", "again.xlsx"]).must_end_with(0);
    assert_eq!(first, fs::read(shop.join("again.xlsx")).expect("a workbook"), "the same job gives the same bytes");
    let mut book: Xlsx<_> = open_workbook(shop.join("log.xlsx")).expect("a workbook");
    let sheet = book.worksheet_range("log").expect("a sheet");
    let text = |cell: &Data| if *cell == Data::Empty { String::new() } else { cell.to_string() };
    let rows: Vec<String> = sheet
        .rows()
        .map(|row| row.iter().map(text).collect::<Vec<_>>().join(",").trim_end_matches(',').to_owned())
        .collect();
    let csv = read(shop.join("log.csv"));
    let lines: Vec<&str> = csv.trim_start_matches('\u{feff}').lines().map(|line| line.trim_end_matches(',')).collect();
    assert_eq!(rows, lines);
    let run = decant(&shop, ["new", "log", "job.yaml", "-o", "log.pdf"]).must_end_with(2);
    says(&run.stderr, &[".xlsx"]);
}

fn new_contract(folder: &Path, shop: &Path, table: &str) -> Outcome {
    write(folder.join("sites.csv"), table);
    let company = shop.join("company.yaml");
    decant(
        folder,
        ["new".as_ref(), "contract".as_ref(), "sites.csv".as_ref(), "--company".as_ref(), company.as_os_str()],
    )
}

#[test]
fn a_table_becomes_a_contract_that_expands_and_what_is_not_clear_is_listed() {
    let (folder, shop) = begun("quat");
    let table = "Code,Site,Street,Town,Lobby (sq ft),Hall,Rooms,Manager,Odd\n\
                 mill,Old Mill,1 Mill Row,Ansel,450,40 ft x 20 ft,4,A. B.,5 ft2\n\
                 pier,Pier House,,Ansel,300,,2,C. D.,big\n";
    let run = new_contract(folder.path(), &shop, table).must_end_with(0);
    says(
        &run.stderr,
        &[
            "`Rooms`: what it holds is not known",
            "the site `pier` gives no size of `Hall`",
            "`pier` has no address",
            "`Odd`",
        ],
    );
    let jobs = decant(folder.path(), ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    assert_eq!(jobs.stdout.lines().count(), 2, "{}", jobs.stdout);
    for job in jobs.stdout.lines() {
        decant(folder.path(), ["plan", job]).must_end_with(0);
    }
    let again = new_contract(folder.path(), &shop, table).must_end_with(2);
    says(&again.stderr, &["contract.yaml", "written over"]);
}

#[test]
fn kinds_and_routes_that_differ_in_capitals_are_one_and_no_size_is_lost_for_a_word() {
    let (folder, shop) = begun("quat");
    let table = "Store No.,Store,Street,Type,Van,Floor (sq ft),Restrooms (sq ft),Phone\n\
                 101,Quay,1 Quay,Corner store,North,450,90,5550101\n102,Pier,2 Quay,CORNER-STORE ,north,300,None,5550102\n";
    let run = new_contract(folder.path(), &shop, table).must_end_with(0);
    assert!(!run.stderr.contains("not known"), "{}", run.stderr);
    let contract = read(folder.path().join("contract.yaml"));
    assert_eq!((contract.matches("treatments:").count(), contract.matches("takes: 2 h").count()), (1, 1), "{contract}");
    says(&contract, &["key: Store No.\n", "name: Store\n", "phone: Phone\n", "areas: [Floor, Restrooms]"]);
    let jobs = decant(folder.path(), ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    assert_eq!(jobs.stdout.lines().count(), 2, "{}", jobs.stdout);
}

#[test]
fn a_column_of_weekdays_becomes_rules_and_expand_counts_the_visits() {
    let (folder, shop) = begun("quat");
    let table = "Code,Site,Street,Floor (ft2),Weekday\nmill,Old Mill,1 Mill Row,2520,Monday\npier,Pier,2 Quay,950,\"Tue, Fri\"\n";
    new_contract(folder.path(), &shop, table).must_end_with(0);
    let contract = read(folder.path().join("contract.yaml"));
    says(
        &contract,
        &["floor: { column: \"Floor (ft2)\", unit: ft2 }", "BYDAY=MO", "sites: [mill]", "BYDAY=TU", "BYDAY=FR"],
    );
    let run = decant(folder.path(), ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    says(&run.stderr, &["Old Mill: 12 visits", "Pier: 2"]);
}

#[test]
fn a_size_is_never_the_key_and_short_words_for_keys_are_named() {
    let (folder, shop) = begun("quat");
    let table = "Site,Floor (ft2),Weekday\nLakeview Elementary,2520,Mon\nOak Street Library,950,Tue\n";
    let run = new_contract(folder.path(), &shop, table).must_end_with(2);
    says(&run.stderr, &["headed `Code`", "lakeview, oak"]);
    assert!(!run.stderr.contains("no column holds the size") && !run.stderr.contains("not known"), "{}", run.stderr);
}

#[test]
fn a_table_of_which_no_contract_can_be_made_says_all_that_it_lacks() {
    let (folder, shop) = begun("quat");
    let run =
        new_contract(folder.path(), &shop, "Site,Site,Color\nOld Mill of the North,x,red\nPier House,y,blue sky\n")
            .must_end_with(2);
    says(
        &run.stderr,
        &["two columns are headed `Site`", "no column can be the key", "no column holds the size", "`Color`"],
    );
    assert!(!folder.path().join("contract.yaml").exists());
}

#[test]
fn a_contract_of_the_samples_table_is_the_samples_kinds() {
    let (folder, shop) = begun("quat");
    let table = read(crate::support::workspace::root().join("samples/harbour-contract/sites.csv"));
    new_contract(folder.path(), &shop, &table).must_end_with(0);
    says(
        &read(folder.path().join("contract.yaml")),
        &["address: [Street, Town]", "route: Van", "Restrooms: { floor: Restrooms }", "unit: ft2"],
    );
    decant(folder.path(), ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
}

#[test]
fn completions_and_man_pages_are_of_every_command() {
    let folder = temporary();
    let bash = decant(folder.path(), ["completions", "bash"]).must_end_with(0).stdout;
    says(&bash, &["load-out", "--contact-time"]);
    write(folder.path().join("decant.bash"), &bash);
    let parsed = Command::new("bash").arg("-n").arg(folder.path().join("decant.bash")).status().expect("bash");
    assert!(parsed.success());
    decant(folder.path(), ["manual", "--man", "man"]).must_end_with(0);
    let pages = names(&folder.path().join("man"));
    let help = decant(folder.path(), ["--help"]).must_end_with(0).stdout;
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    // what is said of a command may go on below it, further in
    let names_in = commands.filter_map(|line| line.strip_prefix("  ").filter(|rest| !rest.starts_with(' ')));
    let commands: Vec<&str> = names_in.filter_map(|line| line.split(' ').next()).filter(|c| *c != "help").collect();
    assert!(commands.len() > 15, "{help}");
    for command in commands {
        assert!(pages.contains(&format!("decant-{command}.1")), "no page of {command} in {pages:?}");
    }
    says(&read(folder.path().join("man/decant-render.1")), &[".TH decant-render", "\\-\\-only"]);
}
