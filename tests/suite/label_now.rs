//! `decant label`: what somebody just filled, without a job; and what scripts and editors ask of every command.

use std::io::Write;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, change, read, read_bytes, says};

fn label(copy: &Copy, more: &[&str]) -> Outcome {
    let own = ["label", "--company", "company.yaml", "--product", "ostrane-p5"];
    decant(copy.company_folder(), [&own, more].concat())
}

/// The words of a PDF.
fn words(copy: &Copy, file: &str) -> String {
    let path = copy.company_folder().join(file);
    let output = Command::new("pdftotext").args(["-layout"]).arg(&path).arg("-").output();
    String::from_utf8_lossy(&output.expect("pdftotext").stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_label_without_a_job_has_what_it_must_and_lines_for_the_rest() {
    let copy = Copy::of("ferry-terminal");
    let run = label(&copy, &["--stock", "roll-4x6"]).must_end_with(0);
    assert_eq!(run.stdout, "label-roll-4x6.pdf\n");
    let found = words(&copy, "label-roll-4x6.pdf");
    // the product's own data sheet, dilution, firm; the discard time counts from a time that nobody gave
    says(&found, &["Ostrane P5", "1:32", "Tern & Tide Hygiene", "KEEPS 24 H", "MIXED", "29 CFR 1910.1200"]);
    assert!(!found.contains("label-") && !found.contains("1980"), "{found}");
    assert!(!copy.company_folder().join("label-record.json").exists(), "no record is written");
}

/// Whoever tops a bottle up reads the label alone. What the company file does not name is everything.
#[test]
fn what_must_never_be_mixed_stands_on_it_in_its_languages() {
    let copy = Copy::of("ferry-terminal");
    let on = |stock: &str, language: &str| {
        label(&copy, &["--stock", stock, "--language", language, "-o", "a.pdf"]).must_end_with(0);
        words(&copy, "a.pdf")
    };
    let named = "Never mix with: chlorine bleach, other acids.";
    says(&on("roll-4x6", "en"), &[named]);
    says(
        &on("roll-4x6", "es"),
        &["Nunca mezclar con: cloro o blanqueador, cloro en tabletas o gránulos, ácidos.", named],
    );
    says(
        &on("roll-4x6", "fr"),
        &["Ne jamais mélanger avec : eau de Javel, chlore en pastilles ou en granulés, acides."],
    );
    let company = copy.company_folder().join("company.yaml");
    change(&company, "never_with: [chlorine bleach, other acids]", "never_with: [zinc]");
    says(&on("roll-4x6", "fr"), &["Ne jamais mélanger avec : zinc."]);
    // what forbids everything, or more than the families known here, forbids no less in another language
    change(&company, "never_with: [zinc]", "never_with: [acids, any other chemical]");
    says(&on("roll-4x6", "es"), &["Nunca mezclar con ningún otro"]);
    change(&company, "never_with: [acids, any other chemical]", "never_with: [zinc, everything]");
    says(&on("roll-4x6", "fr"), &["Ne jamais mélanger avec : un autre produit, zinc."]);
    change(&company, "never_with: [zinc, everything]", "never_with: [soap., strong bases]");
    says(
        &on("roll-4x6", "fr"),
        &["Ne jamais mélanger avec : savon ou détergent, strong bases (bases fortes).", "with: soap, strong bases."],
    );
    change(&company, "never_with: [soap., strong bases]", "never_with: []");
    says(&on("roll-4x6", "fr"), &["Ne jamais mélanger avec un autre produit.", "Never mix with any other product."]);
}

/// Where nobody names the stock, the first that carries what must never be mixed is taken, and which is said.
#[test]
fn the_stock_that_is_taken_is_named() {
    let copy = Copy::of("ferry-terminal");
    let note = |more: &[&str]| label(&copy, more).must_end_with(0).stderr;
    says(&note(&[]), &["note: printed on the stock `tag-3x6`: it is the first on which the label fits"]);
    says(&note(&["--container", "bottle"]), &["note: printed on the stock `sheet-4x2`: the company file names it"]);
    assert!(!note(&["--stock", "tag-3x6"]).contains("printed on the stock"));
    assert_eq!(note(&["-q"]), "");
    // small stock that could carry the label of two languages only without it
    let company = copy.company_folder().join("company.yaml");
    change(&company, "\nstock:\n", "\nstock:\n  small: { label: 4 in x 2 in }\n");
    let quat = ["--product", "solvary-q75", "--directions", "hard-surface", "--language", "fr"];
    let run = |more: &[&str]| {
        let own = ["label", "--company", "company.yaml"];
        decant(copy.company_folder(), [&own[..], &quat, more].concat()).must_end_with(0).stderr
    };
    says(
        &run(&["--stock", "small"]),
        &["\ncaution: Solvary Q-75, on the stock `small`: what it must never be mixed with is not"],
    );
    let taken = run(&[]);
    assert!(!taken.contains("never-with"), "another stock carries it");
    says(&taken, &["it is the first that also carries what it must never be mixed with"]);
}

/// A link that is too long for a code is no fault of a label without one.
#[test]
fn a_link_that_no_code_carries_stops_no_label_without_a_code() {
    let copy = Copy::of("ferry-terminal");
    let long = format!("record_link: https://{}.example/", "x".repeat(60));
    copy.change_company("record_link: https://records.tern-and-tide.example/", &long);
    label(&copy, &[]).must_end_with(0);
    let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("error[link-too-long]"), "{}", run.stderr);
}

#[test]
fn what_is_given_stands_on_it() {
    let copy = Copy::of("ferry-terminal");
    let given = [
        "--container",
        "32floz",
        "--by",
        "okafor",
        "--mixed",
        "2026-05-04T10:00",
        "--copies",
        "2",
        "--stock",
        "roll-4x6",
    ];
    label(&copy, &[&given[..], &["-o", "a.pdf"]].concat()).must_end_with(0);
    let found = words(&copy, "a.pdf");
    says(
        &found,
        &["26 mL in 28 fl oz", "32 fl oz hydrogen peroxide", "R. Okafor", "Mon, May 4,", "Tue, May 5,", "10:00 AM"],
    );
    assert_eq!(found.matches("R. Okafor").count(), 2);
    // the same arguments give the same bytes, here and on standard output
    let file = read_bytes(copy.company_folder().join("a.pdf"));
    label(&copy, &[&given[..], &["-o", "b.pdf"]].concat()).must_end_with(0);
    assert!(read_bytes(copy.company_folder().join("b.pdf")) == file);
    // `now` is read, and is no fixed time
    label(&copy, &["--mixed", "now", "--stock", "roll-4x6", "-o", "now.pdf"]).must_end_with(0);
    assert!(words(&copy, "now.pdf").contains(" 20"));
}

#[test]
fn what_is_wrong_is_said_with_what_to_give() {
    let copy = Copy::of("ferry-terminal");
    for (more, message, hint) in [
        (&["--container", "botle"][..], "no vessel or sprayer `botle`", "did you mean `bottle`?"),
        (&["--container", "32 oz"], "an ounce may be of volume or of weight", "write `32 fl oz`"),
        (&["--stock", "rol"], "no label stock `rol`", "there are: roll-4x6"),
        (&["--mixed", "today"], "`today` is not a date and time", "2026-04-13T18:00"),
        (&["--directions", "walls"], "no directions `walls`", "floors"),
    ] {
        let run = label(&copy, more).must_end_with(2);
        says(&run.stderr, &[message, hint]);
    }
    let several = ["label", "--company", "company.yaml", "--product", "solvary-q75"];
    let run = decant(copy.company_folder(), several).must_end_with(2);
    says(&run.stderr, &["several directions", "food-plant, hard-surface"]);
}

#[test]
fn one_label_of_a_job_is_printed_again() {
    let copy = Copy::of("ferry-terminal");
    let again = |more: &[&str]| decant(&copy.folder, [&["labels", "job.yaml", "-o", "again.pdf"], more].concat());
    again(&["--treatment", "2", "--load", "3"]).must_end_with(0);
    let output = Command::new("pdftotext").arg(copy.folder.join("again.pdf")).arg("-").output().expect("pdftotext");
    let found = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(found.contains("load 3 of 3") && !found.contains("load 2 of 3"), "{found}");
    says(
        &again(&["--treatment", "2", "--load", "9"]).must_end_with(2).stderr,
        &["no treatment 2, load 9", "loads 1 to 3"],
    );
}

#[test]
fn a_program_can_read_every_message() {
    let copy = Copy::of("ferry-terminal");
    change(&copy.folder.join("job.yaml"), "sprayer: mister", "sprayer: mistr");
    for arguments in [&["plan", "job.yaml"][..], &["render", "job.yaml", "-o", "out"]] {
        let run = decant(&copy.folder, [arguments, &["--messages", "json"]].concat()).must_end_with(2);
        let first: Value = serde_json::from_str(run.stderr.lines().next().expect("a line")).expect("JSON");
        assert_eq!((&first["code"], &first["file"]), (&"sprayer-unknown".into(), &"job.yaml".into()));
        assert_eq!(
            (&first["path"], &first["repair"][0]),
            (&"treatments[1].sprayer".into(), &"did you mean `mister`?".into())
        );
        assert!(first["line"].as_u64().is_some_and(|line| {
            read(copy.folder.join("job.yaml")).lines().nth(line as usize - 1).unwrap_or("").contains("mistr")
        }));
    }
    let bad_call = decant(&copy.folder, ["rendr", "--messages=json"]).must_end_with(2);
    assert!(bad_call.stderr.lines().all(|line| serde_json::from_str::<Value>(line).is_ok()), "{}", bad_call.stderr);
    let plain = decant(&copy.folder, ["plan", "job.yaml"]);
    let colored = decant(&copy.folder, ["plan", "job.yaml", "--color", "always"]);
    assert!(!plain.stderr.contains('\u{1b}') && colored.stderr.contains("\u{1b}[1;31merror"));
}

#[test]
fn a_job_may_come_from_standard_input_and_labels_go_to_standard_output() {
    let copy = Copy::of("ferry-terminal");
    let mut child = Command::new(env!("CARGO_BIN_EXE_decant"))
        .current_dir(&copy.folder)
        .args(["labels", "-", "-o", "-", "--stock", "roll-4x6"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    let job = read_bytes(copy.folder.join("job.yaml"));
    child.stdin.take().expect("stdin").write_all(&job).expect("written");
    let output = child.wait_with_output().expect("ended");
    assert!(
        output.status.success() && output.stdout.starts_with(b"%PDF"),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    // a file cannot make the program read it
    change(&copy.folder.join("job.yaml"), "company: ../company.yaml", "company: '-'");
    says(&decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2).stderr, &["there is no such file"]);
}

#[test]
fn no_option_is_passed_over_and_no_log_is_no_fault() {
    let copy = Copy::of("ferry-terminal");
    change(&copy.folder.join("job.yaml"), "log: log.yaml", "# log: log.yaml");
    for (more, message) in [
        (&["--dpi", "203"][..], "`--dpi` is of PNG pages"),
        (&["--only", "mix-sheet", "--copies", "2"], "are of labels"),
        (&["--only", "labels", "--draft"], "`--draft` is of certificates"),
        (&["-o", "-"], "standard output takes one"),
    ] {
        let run = decant(&copy.folder, [&["render", "job.yaml"], more].concat()).must_end_with(2);
        says(&run.stderr, &[message, "  = "]);
    }
    let quiet = decant(&copy.folder, ["render", "job.yaml", "-q", "--only", "mix-sheet"]).must_end_with(0);
    assert_eq!(quiet.stderr, "");
    says(&decant(&copy.folder, ["render", "job.yaml"]).must_end_with(0).stderr, &["note: no certificate yet"]);
    decant(&copy.folder, ["render", "job.yaml", "--only", "certificate"]).must_end_with(3);
    let several = decant(&copy.folder, ["plan", "job.yaml", "none.yaml", "--json"]).must_end_with(1);
    let plans: Value = serde_json::from_str(&several.stdout).expect("JSON");
    assert_eq!(plans.as_array().map(Vec::len), Some(1));
}

#[test]
fn a_saved_job_is_rendered_again_and_a_slip_leaves_the_pages() {
    let copy = Copy::of("ferry-terminal");
    let job = copy.folder.join("job.yaml");
    change(&job, "log: log.yaml", "# log: log.yaml");
    let mut child = Command::new(env!("CARGO_BIN_EXE_decant"))
        .current_dir(&copy.folder)
        .args(["watch", "job.yaml", "--only", "mix-sheet", "-o", "out"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("started");
    let page = copy.folder.join("out/2026-0413-record.json");
    let after = |before: Vec<u8>| {
        let began = Instant::now();
        loop {
            let now = std::fs::read(&page).unwrap_or_default();
            if now != before || began.elapsed() > Duration::from_secs(60) {
                return now;
            }
            sleep(Duration::from_millis(10));
        }
    };
    let first = after(Vec::new());
    change(&job, "humidity: 45 %", "humidity: 50 %");
    let second = after(first.clone());
    change(&job, "sprayer: mister", "sprayer: mistr");
    sleep(Duration::from_secs(1));
    let with_slip = read_bytes(&page);
    change(&job, "sprayer: mistr", "sprayer: mister");
    change(&job, "humidity: 50 %", "humidity: 55 %");
    let third = after(with_slip.clone());
    child.kill().expect("it is still running");
    let _ = child.wait();
    assert!(!first.is_empty() && first != second && second == with_slip && with_slip != third);
}
