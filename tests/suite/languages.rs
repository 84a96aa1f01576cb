//! Documents in every language: the built-in ones, and one a user adds as a file.

use std::ffi::OsStr;
use std::fs;
use std::path::Path;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, names, read, root, samples, temporary, write};

fn render(folder: &Path, job: &Path, output: &Path, options: &[&str]) -> Outcome {
    let mut arguments: Vec<&OsStr> = vec!["render".as_ref(), job.as_ref(), "-o".as_ref(), output.as_ref()];
    arguments.extend(options.iter().map(OsStr::new));
    decant(folder, arguments)
}

/// Whether the PDF says it is in this language. Typst writes the catalog plainly, outside compressed streams.
fn is_in(pdf: &Path, tag: &str) -> bool {
    let bytes = fs::read(pdf).unwrap_or_else(|e| panic!("{}: {e}", pdf.display()));
    let mark = format!("/Lang({tag})");
    let spaced = format!("/Lang ({tag})");
    let holds = |mark: &str| bytes.windows(mark.len()).any(|window| window == mark.as_bytes());
    holds(&mark) || holds(&spaced)
}

#[test]
fn every_sample_in_every_language() {
    for tag in ["en", "es", "fr"] {
        for job in samples() {
            let output = temporary();
            render(root(), &job, output.path(), &["--language", tag]).must_end_with(0);
            let made = names(output.path());
            for document in ["-labels-", "-mix-sheet.pdf", "-certificate.pdf"] {
                let pdf = made.iter().find(|name| name.contains(document));
                let pdf = pdf.unwrap_or_else(|| panic!("no {document} of {} in {tag}", job.display()));
                assert!(is_in(&output.path().join(pdf), tag), "{pdf} does not say that it is in {tag}");
            }
        }
    }
}

/// The record is the plan, and a plan has no language.
#[test]
fn the_record_is_the_same_in_every_language() {
    let job = root().join("samples/fish-hall/job.yaml");
    let link = |tag: &str| {
        let reported = decant(root(), ["plan".as_ref(), job.as_os_str(), "--language".as_ref(), tag.as_ref()]);
        let reported = reported.must_end_with(0).stdout;
        let found = reported.split_whitespace().find(|word| word.starts_with("https://"));
        found.expect("a link").to_owned()
    };
    assert_eq!(link("es"), link("en"));
    assert_eq!(link("fr"), link("en"));
}

/// Numbers that are the names of rules.
const RULES: [&str; 3] = ["1910.134", "1910.1200", "180.940"];

/// A comma or point that parts thousands in one habit is the decimal mark in the other.
#[test]
fn no_figure_can_be_read_as_a_thousand_times_another() {
    for job in samples() {
        for (tag, forbidden) in [("es", ','), ("fr", '.')] {
            let reported = decant(root(), ["plan".as_ref(), job.as_os_str(), "--language".as_ref(), tag.as_ref()]);
            let reported = reported.must_end_with(0).stdout;
            for word in reported.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')) {
                let digits = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
                let figure = word.trim_matches(['.', ',']);
                if let Some((whole, part)) = figure.split_once(forbidden) {
                    assert!(
                        RULES.contains(&figure) || !digits(whole) || !digits(part),
                        "{tag}: {figure} in\n{reported}"
                    );
                }
                if let Some((whole, part)) = figure.split_once(['.', ',']) {
                    let thousands = digits(whole) && whole != "0" && digits(part) && part.len() == 3;
                    assert!(!thousands || RULES.contains(&figure), "{tag}: {figure} in\n{reported}");
                }
            }
        }
    }
}

#[test]
fn the_terminal_speaks_the_language() {
    let job = root().join("samples/ferry-terminal/job.yaml");
    for (tag, parts) in [
        ("es", ["Trabajo 2026-0413", "lun 13 abr 2026", "oz líq", "1\u{202F}1", "Registro 2026-0413"]),
        ("fr", ["Travail 2026-0413", "lun. 13 avr. 2026", "oz liq.", "gal US", "Dossier 2026-0413"]),
    ] {
        let reported = decant(root(), ["plan".as_ref(), job.as_os_str(), "--language".as_ref(), tag.as_ref()]);
        let reported = reported.must_end_with(0).stdout;
        for part in parts {
            assert!(reported.contains(part), "no {part:?} in:\n{reported}");
        }
        assert!(!reported.contains("de de ") && !reported.contains("de d'"), "{reported}");
    }
}

/// What a label must never be mixed with is known by its name in the crew's language; the file has it in English.
#[test]
fn what_must_never_meet_is_said_in_the_language_of_the_sheet() {
    let copy = Copy::of("fish-hall");
    let sheet =
        |language| decant(&copy.folder, ["data", "job.yaml", "mix-sheet", "--language", language]).must_end_with(0);
    let said = "Nunca junto con cloro o blanqueador, cloro en tabletas o gránulos, jabón o detergente, ni en el tanque";
    assert!(sheet("es").stdout.contains(said), "{}", sheet("es").stdout);
    assert!(sheet("en").stdout.contains("Never together with chlorine bleach, soap, anionic detergent, in the tank"));
}

#[test]
fn each_document_in_the_language_the_files_name() {
    let copy = Copy::of("ferry-terminal");
    copy.change_job(
        "company: ../company.yaml",
        "company: ../company.yaml\nlanguage: es\nlanguages: { labels: [en, es], certificate: fr }",
    );
    let output = copy.output();
    render(&copy.folder, Path::new("job.yaml"), &output, &[]).must_end_with(0);
    for (file, tag) in [
        ("2026-0413-labels-roll-4x6.pdf", "en"),
        ("2026-0413-mix-sheet.pdf", "es"),
        ("2026-0413-certificate.pdf", "fr"),
    ] {
        assert!(is_in(&output.join(file), tag), "{file} is not in {tag}");
    }
}

#[test]
fn a_language_of_the_users_own_is_one_file() {
    let copy = Copy::of("ferry-terminal");
    let english = read(root().join("templates/lang/en.yaml"));
    let own = english
        .replace("language: en", "language: pt")
        .replace("number: { decimal: \".\", group: \",\" }", "number: { decimal: \",\", group: \"\\u202F\" }")
        .replace("office: \"Office\"", "office: Escritório")
        .replace("  heading: \"Job {{ job }}", "  heading: \"Trabalho {{ job }}");
    let file = copy.folder.join("../pt.yaml");
    write(&file, &own);
    copy.change_job("company: ../company.yaml", "company: ../company.yaml\nlanguage: ../pt.yaml");
    let output = copy.output();
    render(&copy.folder, Path::new("job.yaml"), &output, &[]).must_end_with(0);
    assert!(is_in(&output.join("2026-0413-mix-sheet.pdf"), "pt"));
    let reported = decant(&copy.folder, ["plan", "job.yaml", "--language", "../pt.yaml"]).must_end_with(0);
    assert!(reported.stdout.contains("Trabalho 2026-0413"), "{}", reported.stdout);

    // What it lacks is said at once, and nothing is made.
    let lacking = own.replace("  office: Escritório\n", "").replace("tablet: 1 tablet\n", "tabelt: 1 tablet\n");
    write(&file, lacking);
    let again = copy.output().join("again");
    let run = render(&copy.folder, Path::new("job.yaml"), &again, &[]).must_end_with(2);
    for part in ["error[language-missing-keys]", "sheet.office, tablet", "`tabelt`", "pt.yaml"] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    assert!(names(&again).is_empty(), "something was written");

    // A letter the font does not have is found before anything is set.
    write(&file, own.replace("Escritório", "混合表"));
    let run = render(&copy.folder, Path::new("job.yaml"), &again, &[]).must_end_with(2);
    assert!(run.stderr.contains("error[no-glyph]") && run.stderr.contains("sheet.office"), "{}", run.stderr);
}

#[test]
fn a_language_that_is_not_there_is_refused() {
    let copy = Copy::of("ferry-terminal");
    let run = decant(&copy.folder, ["plan", "job.yaml", "--language", "de"]).must_end_with(2);
    assert!(run.stderr.contains("one of: en, es, fr"), "{}", run.stderr);
    let run = decant(&copy.folder, ["plan", "job.yaml", "--language", "none.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("none.yaml"), "{}", run.stderr);
    copy.change_job("company: ../company.yaml", "company: ../company.yaml\nlanguage: deutsch");
    let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("error[language-unknown]") && run.stderr.contains("job.yaml:"), "{}", run.stderr);
}
