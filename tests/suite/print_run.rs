//! Print runs: labels of several jobs on shared sheets, part-used sheets, copies, printers, test prints.

use std::path::Path;

use decant::front::Diagnostics;
use decant::front::Job;
use decant::front::Printer;
use decant::front::Record;
use decant::front::Words;
use decant::front::plan;
use decant::front::{LabelJob, LabelRun, Voice, labels};

use crate::support::limits::decant_measured;
use crate::support::page_code::codes_in_columns;
use crate::support::program::decant;
use crate::support::workspace::{Copy, names, read, read_bytes, write};

/// A sample and a second job like it, `other.yaml`, with its own number.
fn two_jobs() -> Copy {
    let copy = Copy::of("ferry-terminal");
    let job = read(copy.folder.join("job.yaml"));
    write(copy.folder.join("other.yaml"), job.replace("job: 2026-0413", "job: 2026-0999"));
    copy
}

fn company(copy: &Copy, change: impl FnOnce(String) -> String) {
    let file = copy.folder.join("../company.yaml");
    let text = read(&file);
    write(&file, change(text));
}

/// The codes on each page of what `render` draws.
fn codes_by_page(copy: &Copy, options: &[&str]) -> Vec<usize> {
    let output = copy.output();
    let all = ["render", "job.yaml", "--only", "labels", "--format", "png", "--dpi", "203", "-o"];
    let mut arguments: Vec<String> = all.iter().map(|a| (*a).to_owned()).collect();
    arguments.push(output.display().to_string());
    arguments.extend(options.iter().map(|a| (*a).to_owned()));
    decant(&copy.folder, arguments).must_end_with(0);
    let mut pages: Vec<String> = names(&output)
        .into_iter()
        .filter(|name| name.contains("sheet-4x2") && Path::new(name).extension().is_some_and(|e| e == "png"))
        .collect();
    pages.sort();
    pages.iter().map(|name| codes_in_columns(&output.join(name), 2).len()).collect()
}

#[test]
fn a_part_used_sheet_is_filled_up_from_its_first_free_place() {
    // five labels on sheets of ten: from place 7 there is room for four, and one goes on the next sheet
    assert_eq!(codes_by_page(&Copy::of("ferry-terminal"), &["--first", "7"]), [4, 1]);
}

#[test]
fn copies_are_as_the_command_the_treatment_the_job_or_the_stock_says() {
    let copy = Copy::of("ferry-terminal");
    company(&copy, |text| text.replace("label: 4 in x 2 in", "label: 4 in x 2 in\n    copies: 2"));
    assert_eq!(codes_by_page(&copy, &[]), [10]);
    copy.change_job("job: 2026-0413", "job: 2026-0413\nlabel_copies: 1");
    assert_eq!(codes_by_page(&copy, &[]), [5]);
    copy.change_job("mixed_in: pail", "mixed_in: pail\n    label_copies: 3");
    assert_eq!(codes_by_page(&copy, &[]).iter().sum::<usize>(), 15);
    assert_eq!(codes_by_page(&copy, &["--copies", "1"]).first(), Some(&5));
}

#[test]
fn labels_of_several_jobs_share_sheets_and_keep_their_own_records() {
    let copy = two_jobs();
    let run = decant(&copy.folder, ["labels", "job.yaml", "other.yaml", "-o", "run.pdf"]).must_end_with(0);
    assert_eq!(run.stdout, "run-roll-4x6.pdf\nrun-sheet-4x2.pdf\n");
    let one = decant(&copy.folder, ["labels", "other.yaml", "job.yaml", "-o", "one.pdf", "--stock", "sheet-4x2"]);
    assert_eq!(one.must_end_with(0).stdout, "one.pdf\n");
    assert!(copy.folder.join("one.pdf").is_file());
}

#[test]
fn each_label_of_a_run_has_the_record_and_the_code_of_its_job() {
    let copy = two_jobs();
    let words = Words::english().expect("the words are whole");
    let read = |file: &str| {
        let mut report = Diagnostics::new();
        let job = Job::read(&copy.folder.join(file), &mut report).expect("a job");
        let plan = plan(&job, &mut report).expect("a plan");
        let origin = job.company.source.root().origin();
        let record = Record::of(&plan, &job.company.record_link, &origin).expect("a record");
        (job, plan, record)
    };
    let read = ["other.yaml", "job.yaml"].map(read);
    let voices = read.each_ref().map(|(job, plan, record)| Voice {
        words: &words,
        units: Printer::new(job.company.units),
        dates: job.company.dates(),
        plan,
        record,
    });
    let jobs = [0, 1].map(|i| LabelJob { second: None, voice: &voices[i], job: &read[i].0 });
    let batches = labels(&jobs, &LabelRun::default()).expect("labels");
    let sheet = batches.iter().find(|b| b.stock == "sheet-4x2").expect("labels on sheets");
    let printed = sheet.view.data["labels"].as_array().expect("a list");
    let records: Vec<&str> = printed.iter().filter_map(|label| label["record"].as_str()).collect();
    let (first, second) = (read[0].2.number.as_str(), read[1].2.number.as_str());
    assert!(first.starts_with("2026-0999") && second.starts_with("2026-0413"));
    assert_eq!(records, [[first; 5], [second; 5]].concat());
    for label in printed {
        let (record, code) = (label["record"].as_str(), label["qr"]["alt"].as_str());
        assert!(code.expect("a text").contains(record.expect("a number")), "{label}");
    }
}

#[test]
fn sheets_that_are_not_alike_are_not_shared() {
    let copy = two_jobs();
    let company = read(copy.folder.join("../company.yaml"));
    let narrower = company.replace("label: 4 in x 2 in", "label: 3.9 in x 2 in");
    write(copy.folder.join("../narrower.yaml"), narrower);
    let other = read(copy.folder.join("other.yaml"));
    write(copy.folder.join("other.yaml"), other.replace("../company.yaml", "../narrower.yaml"));
    let run = decant(&copy.folder, ["labels", "job.yaml", "other.yaml", "-o", "run.pdf"]).must_end_with(2);
    let reported = "other.yaml: the label stock `sheet-4x2` has other dimensions than in the job `2026-0413`";
    assert!(run.stderr.contains(reported), "{}", run.stderr);
    assert!(!copy.folder.join("run-sheet-4x2.pdf").exists());
}

#[test]
fn what_a_run_cannot_do_is_said() {
    let copy = two_jobs();
    for (arguments, reported) in [
        (vec!["job.yaml", "job.yaml"], "the job `2026-0413` is in this run already"),
        (vec!["job.yaml", "--first", "11"], "`sheet-4x2`, which has 10 places"),
        (vec!["job.yaml", "--stock", "sheet-4x3"], "did you mean `sheet-4x2`?"),
        (vec!["job.yaml", "--printer", "office"], "no printer `office`"),
        (vec!["missing.yaml"], "missing.yaml"),
    ] {
        let all = ["labels"].into_iter().chain(arguments.iter().copied()).chain(["-o", "run.pdf"]);
        let run = decant(&copy.folder, all).must_end_with(2);
        assert!(run.stderr.contains(reported), "{arguments:?}: {}", run.stderr);
        assert_eq!(run.stdout, "");
    }
}

#[test]
fn a_label_that_cannot_be_carried_names_the_smallest_stock_that_can() {
    let copy = Copy::of("ferry-terminal");
    company(&copy, |text| {
        text + "  vial: { label: 30 mm x 20 mm }\n  bottle: { label: 3 in x 2 in, regime: united-states-general }\n"
    });
    copy.change_job("mixed_in: pail", "mixed_in: pail\n    stock: vial");
    let run = decant(&copy.folder, ["render", "job.yaml", "--only", "labels"]).must_end_with(1);
    assert!(run.stderr.contains("the stock has 20 mm"), "{}", run.stderr);
    let reported = "the smallest stock of the company file that carries it is `bottle`";
    assert!(run.stderr.contains(reported), "{}", run.stderr);
    copy.change_job("stock: vial", "stock: bottle");
    let run = decant(&copy.folder, ["render", "job.yaml", "--only", "labels"]).must_end_with(0);
    // no room for a code on it: its record's number stands in print
    assert!(run.stderr.contains("qr"), "{}", run.stderr);
}

#[test]
fn a_printer_is_measured_and_corrected() {
    let copy = Copy::of("ferry-terminal");
    company(&copy, |text| text + "printers:\n  office: { right: 1 mm, down: -0.5 mm, scale: 99.5 % }\n");
    let plain = decant(&copy.folder, ["test-print", "sheet-4x2", "--company", "../company.yaml"]).must_end_with(0);
    assert_eq!(plain.stdout, "test-print-sheet-4x2.pdf\n");
    let corrected = ["test-print", "roll-4x6", "--company", "../company.yaml", "--printer", "office", "-o", "r.pdf"];
    decant(&copy.folder, corrected).must_end_with(0);
    let wrong = decant(&copy.folder, ["test-print", "roll-4x7", "--company", "../company.yaml"]).must_end_with(2);
    assert!(wrong.stderr.contains("did you mean `roll-4x6`?"), "{}", wrong.stderr);
    // labels move and are still read: the code is 0.5 % smaller
    assert_eq!(codes_by_page(&copy, &["--printer", "office"]), [5]);
    let moved = read_bytes(copy.output().join("2026-0413-labels-sheet-4x2-1.png"));
    assert_eq!(codes_by_page(&copy, &[]), [5]);
    let unmoved = read_bytes(copy.output().join("2026-0413-labels-sheet-4x2-1.png"));
    assert_ne!(moved, unmoved);
}

/// Typst keeps much of what it lays out: laid out at once, these took 1.8 GB. 250 to 260 MiB were measured.
#[test]
fn a_run_of_nearly_five_hundred_labels_keeps_within_memory() {
    let copy = Copy::of("ferry-terminal");
    copy.change_job("visit: { start", "visit: { longest: 336 h, start");
    copy.change_job("floor: 40 ft x 55 ft", "floor: 4000 ft x 266 ft");
    copy.change_job("    sprayer: mister\n", "    sprayer: mister\n    sprayers: 2\n");
    copy.change_job("\nlog: log.yaml\n", "\n");
    let run = decant_measured(&copy.folder, ["render", "job.yaml", "--only", "labels", "-o", "out"]);
    assert!(run.memory < 300 << 10, "it took {} MiB", run.memory >> 10);
    run.must_end_with(0);
    let file = read_bytes(copy.folder.join("out/2026-0413-labels-roll-4x6.pdf"));
    let pages = String::from_utf8_lossy(&file).matches("/Type/Page/").count();
    assert!(pages > 450, "{pages} labels");
}

/// The fit is found on a label that stands for all of a treatment; a label's look must not depend on what else is printed.
#[test]
fn a_label_looks_the_same_alone_and_in_a_run_after_others() {
    let copy = two_jobs();
    let picture = |jobs: &[&str], name: &str, page: u32| {
        let all = ["labels"].into_iter().chain(jobs.iter().copied());
        let file = format!("{name}.pdf");
        decant(&copy.folder, all.chain(["--stock", "roll-4x6", "-o", &file])).must_end_with(0);
        let page = page.to_string();
        let drawn = std::process::Command::new("pdftoppm")
            .args(["-r", "60", "-f", &page, "-l", &page, "-singlefile", &file, name])
            .current_dir(&copy.folder)
            .status();
        assert!(drawn.expect("pdftoppm runs").success());
        read_bytes(copy.folder.join(format!("{name}.ppm")))
    };
    let alone = picture(&["other.yaml"], "alone", 2);
    // three labels of the first job come before
    assert!(alone == picture(&["job.yaml", "other.yaml"], "after", 5));
    assert!(alone != picture(&["job.yaml", "other.yaml"], "before", 2), "another record's code");
}
