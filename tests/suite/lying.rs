//! Certificates that say what was not so: by a language file, by a forged page, by another program.

use std::path::Path;
use std::process::Command;

use serde_json::json;

use crate::support::forged::{certificate, forged, record_of};
use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, read, read_bytes, root, temporary, write};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";

/// A copy of the fish hall with a language file of the firm's own, made from the English one, for the certificate.
fn with_language(changes: &[(&str, &str)]) -> Copy {
    let copy = Copy::of("fish-hall");
    let mut text = read(root().join("templates/lang/en.yaml"));
    for (from, to) in changes {
        assert!(text.contains(from), "the English file no longer holds {from:?}");
        text = text.replacen(from, to, 1);
    }
    write(copy.folder.join("own.yaml"), text);
    copy.change_job("company: ../company.yaml", "company: ../company.yaml\nlanguage: own.yaml");
    copy
}

fn verify(folder: &Path, arguments: &[&str]) -> Outcome {
    decant(folder, [&["verify"], arguments].concat())
}

#[test]
fn words_that_judge_are_never_a_firms_own_in_a_language_that_is_built_in() {
    for (from, to, key) in [
        ("below: below the band", "below: passes", "certificate.below"),
        ("not_evaluated: not evaluated", "not_evaluated: met", "certificate.verdict.not_evaluated"),
        ("reading: \"Strength in its band\"", "reading: Strength above the band", "certificate.rules.reading"),
        ("ppm: ppm", "ppm: mg/L", "units.ppm"),
        ("range: \"{{ low }} to {{ high }}\"", "range: \"1{{ low }} to {{ high }}\"", "range"),
    ] {
        let run = with_language(&[(from, to)]).render(&[]).must_end_with(2);
        assert!(
            run.stderr.contains("error[language-protected]") && run.stderr.contains(&format!("`{key}`")),
            "{}",
            run.stderr
        );
        assert!(run.stderr.contains("own.yaml:"), "{}", run.stderr);
    }
    // what judges nothing is the firm's
    let copy =
        with_language(&[("  heading: Certificate of disinfection service", "  heading: Certificate of service")]);
    copy.render(&[]).must_end_with(0);
    let run = verify(&copy.output(), &[CERTIFICATE]).must_end_with(0);
    assert!(run.stdout.contains("was not looked at: give `--job`"), "{}", run.stdout);
}

#[test]
fn a_language_of_the_firms_own_is_not_checked_and_that_is_said() {
    let copy = with_language(&[("language: en", "language: pt"), ("below: below the band", "below: passes")]);
    copy.render(&[]).must_end_with(0);
    let job = copy.folder.join("job.yaml");
    let job = job.to_str().expect("a name is text");
    for arguments in [&[CERTIFICATE] as &[&str], &[CERTIFICATE, "--job", job]] {
        let run = verify(&copy.output(), arguments).must_end_with(3);
        assert!(
            run.stdout.contains("NOT CHECKED: the words of the page") && run.stdout.contains("`pt`"),
            "{}",
            run.stdout
        );
    }
}

/// The page that a job gives matches, in every language that is built in; one that was made to say something else does not, though every
/// digest and every byte of the PDF are sound.
#[test]
fn a_page_that_says_what_the_verdicts_do_not_is_found() {
    for language in ["en", "es", "fr"] {
        let copy = Copy::of("fish-hall");
        let output = copy.output();
        let folder = output.to_str().expect("a name is text");
        decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--language", language]).must_end_with(0);
        let job = copy.folder.join("job.yaml");
        let run = verify(&output, &[CERTIFICATE, "--job", job.to_str().expect("text")]).must_end_with(0);
        assert!(run.stdout.contains("matches: the page's words and figures"), "{}", run.stdout);
    }
    // drawn by a template of the firm's own that does not look at the record's texts, the page would be the same; here the texts lie
    let copy = Copy::of("fish-hall");
    copy.render(&[]).must_end_with(0);
    let job = copy.folder.join("job.yaml");
    let job = job.to_str().expect("text");
    let sound = record_of(&read_bytes(copy.output().join(CERTIFICATE)));
    for (path, lie) in [
        ("/certificate/data/rules/0/verdict", json!("holds, and more")),
        ("/certificate/data/readings", json!([])),
        ("/certificate/data/words/read", json!("Planned")),
    ] {
        let mut record = sound.clone();
        *record.pointer_mut(path).unwrap_or_else(|| panic!("no {path} in the record")) = lie;
        let drawn = drawn_again(&copy, &record);
        write(copy.output().join("lie.pdf"), drawn);
        let run = verify(&copy.output(), &["lie.pdf"]).must_end_with(0);
        assert!(run.stdout.contains("the same byte for byte"), "{}", run.stdout);
        let run = verify(&copy.output(), &["lie.pdf", "--job", job]).must_end_with(1);
        let place = path.trim_start_matches("/certificate/data/").split('/').next().expect("a name");
        assert!(
            run.stdout.contains("does not say what plan, log and verdicts give: first at `")
                && run.stdout.contains(place),
            "{}",
            run.stdout
        );
    }
}

/// The PDF that follows from a record, byte for byte: what somebody gets who changes the program and not the record's form.
fn drawn_again(copy: &Copy, record: &serde_json::Value) -> Vec<u8> {
    use decant::front::CertificatePage;
    use decant::front::{Engine, Ink, Sheet, Template, Templates};
    let files = decant::front::attached(&forged(record.clone(), None));
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("JSON is text");
    let page = &record["certificate"];
    let mut data = page["data"].clone();
    let digest = {
        use sha2::{Digest, Sha256};
        Sha256::digest(&files[0]).iter().map(|byte| format!("{byte:02x}")).collect::<String>()
    };
    CertificatePage::fill(&mut data, &digest, record["link"].as_str().expect("a link")).expect("a code");
    data["attached"] = json!({ "record": text(&files[0]), "seal": text(&files[1]) });
    let mut templates = Templates::built_in();
    templates.set_ink(Ink::Color);
    templates.replace("house/logo.svg", read_bytes(copy.company_folder().join("logo.svg")));
    let sheet = Sheet {
        template: Template::Certificate,
        data: serde_json::to_vec(&data).expect("JSON"),
        date: page["date"].as_str().expect("a date").parse().expect("a date"),
        ident: format!("{}/{}", record["number"].as_str().expect("a number"), page["stem"].as_str().expect("a stem")),
    };
    Engine::with(templates).typeset(&sheet).and_then(|set| set.pdf()).expect("a page")
}

/// Saved again with its objects packed: by qpdf where it is installed, and by hand in any case.
#[test]
fn a_certificate_saved_again_by_another_program_is_altered() {
    let pdf = certificate("fish-hall");
    let folder = temporary();
    write(folder.path().join("in.pdf"), &pdf);
    let saved =
        Command::new("qpdf").args(["--object-streams=generate", "in.pdf", "x.pdf"]).current_dir(folder.path()).status();
    if saved.is_ok_and(|status| status.success()) {
        let run = verify(folder.path(), &["x.pdf"]).must_end_with(1);
        for part in ["matches: the whole record", "ALTERED: its objects are packed", "ALTERED: the PDF is not the one"]
        {
            assert!(run.stdout.contains(part), "no {part:?} in {}", run.stdout);
        }
    }
    // another program may drop the type of an embedded file, and name it from a packed dictionary
    let files = decant::front::attached(&pdf);
    let mut again = b"%PDF-1.7\n".to_vec();
    for (i, file) in files.iter().enumerate() {
        again.extend_from_slice(format!("{} 0 obj <</Length {}>> stream\n", i + 1, file.len()).as_bytes());
        again.extend_from_slice(file);
        again.extend_from_slice(b"\nendstream endobj\n");
    }
    let names: String = (1..=files.len()).map(|i| format!("<</EF<</F {i} 0 R>>>> ")).collect();
    let packed = crate::support::forged::deflated(names.as_bytes());
    again.extend_from_slice(
        format!("9 0 obj <</Type/ObjStm/First 0/Filter/FlateDecode/Length {}>> stream\n", packed.len()).as_bytes(),
    );
    again.extend_from_slice(&packed);
    again.extend_from_slice(b"\nendstream endobj\n");
    write(folder.path().join("y.pdf"), again);
    let run = verify(folder.path(), &["y.pdf"]).must_end_with(1);
    assert!(run.stdout.contains("matches: the whole record"), "{}", run.stdout);
}
