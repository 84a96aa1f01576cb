//! What was altered is found: in a record, in its seal, in the certificate's page and in what lies around it.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::support::program::{Outcome, decant};
use crate::support::schema::faults;
use crate::support::workspace::{
    Copy, copy_file, digests, read, read_bytes, remove, root, samples, says, sha256, temporary, write,
};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";
const RECORD: &str = "2026-0420-record.json";
const SEAL: &str = "2026-0420-seal.json";

/// A sample, rendered into its output folder.
fn rendered(copy: &Copy) -> PathBuf {
    copy.render(&["--replace-draft"]).must_end_with(0);
    copy.output()
}

/// Gives the firm of a copy a key; its public half's file.
fn with_key(copy: &Copy) -> PathBuf {
    copy.set_company("signing_key: company.key");
    decant(copy.company_folder(), ["key", "--company", "company.yaml"]).must_end_with(0);
    copy.company_folder().join("company.key.pub")
}

fn verify(folder: &Path, more: &[&str]) -> Outcome {
    decant(folder, [&["verify"], more].concat())
}

#[track_caller]
fn altered(folder: &Path, more: &[&str], parts: &[&str]) {
    let run = verify(folder, more).must_end_with(1);
    says(&run.stdout, &[&["ALTERED: "], parts].concat());
}

#[test]
fn what_was_not_altered_matches() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let job = copy.folder.join("job.yaml");
    let job = job.to_str().expect("a name is text");
    let run = verify(&output, &[".", "--verbose", "--job", job]).must_end_with(0);
    let matches = ["matches: the page", "matches: the whole record", "matches: the job"];
    says(&run.stdout, &[&matches[..], &["note: it is not signed", "revision 1 is current"]].concat());
    for one in [CERTIFICATE, RECORD] {
        verify(&output, &[one]).must_end_with(0);
    }
    let key = with_key(&copy);
    let key = key.to_str().expect("a name is text");
    let output = rendered(&copy);
    let run = verify(&output, &[".", "--verbose", "--key", key]).must_end_with(0);
    assert!(run.stdout.contains("matches: the signature, by the key given"), "{}", run.stdout);
}

/// The certificate carries what was written beside it, byte for byte, and the page prints the digest.
#[test]
fn the_record_within_is_the_record_beside() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let pdf = read_bytes(output.join(CERTIFICATE));
    let within = decant::front::attached(&pdf);
    for beside in [RECORD, SEAL] {
        let bytes = read_bytes(output.join(beside));
        assert!(within.contains(&bytes), "{beside} is not in the certificate");
    }
    let seal: Value = serde_json::from_slice(&read_bytes(output.join(SEAL))).expect("JSON");
    assert_eq!(seal["record"], sha256(&read_bytes(output.join(RECORD))).as_str());
}

#[test]
fn every_altered_stretch_of_a_certificate_is_found() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let whole = read_bytes(output.join(CERTIFICATE));
    let folder = temporary();
    // some forty bytes all through the file; the program is started for each
    let step = whole.len() / 40;
    let files: Vec<PathBuf> = (0..whole.len())
        .step_by(step)
        .map(|at| {
            let mut spoilt = whole.clone();
            spoilt[at] ^= 0x20;
            let file = folder.path().join(format!("{at}.pdf"));
            write(&file, spoilt);
            file
        })
        .collect();
    for file in &files {
        let run = decant(root(), ["verify".as_ref(), file.as_os_str()]);
        assert!(matches!(run.code, Some(1 | 2)), "{}: {:?}\n{}", file.display(), run.code, run.stdout);
    }
}

#[test]
fn a_certificate_cut_short_or_with_something_behind_is_found() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let whole = read_bytes(output.join(CERTIFICATE));
    let file = output.join(CERTIFICATE);
    write(&file, &whole[..whole.len() - 1]);
    altered(&output, &[CERTIFICATE], &["cut short"]);
    write(&file, [whole.as_slice(), b"\n"].concat());
    altered(&output, &[CERTIFICATE], &["1 bytes stand behind the end"]);
    // half a file no longer holds the record
    write(&file, &whole[..whole.len() / 4]);
    let run = verify(&output, &[CERTIFICATE]);
    assert!(matches!(run.code, Some(1 | 2)), "{}", run.stdout);
}

/// A page altered around an intact attachment: a date in the PDF's own text.
#[test]
fn a_page_altered_around_its_record_is_found() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let mut pdf = read_bytes(output.join(CERTIFICATE));
    let before = decant::front::attached(&pdf);
    let wanted = b"/Title";
    let at = pdf.windows(wanted.len()).position(|w| w == wanted).expect("a title") + wanted.len() + 3;
    pdf[at] ^= 1;
    assert_eq!(decant::front::attached(&pdf), before, "the attachments were to stay");
    write(output.join(CERTIFICATE), pdf);
    altered(&output, &[CERTIFICATE], &["the PDF is not the one that its record gives", "matches: the whole record"]);
}

/// The page of one job with the record of another.
#[test]
fn a_swapped_attachment_is_found() {
    let (one, other) = (Copy::of("fish-hall"), Copy::of("fish-hall"));
    other.change_job("name: ", "name: Old ");
    let (one, other) = (rendered(&one), rendered(&other));
    let stretch = |pdf: &[u8]| {
        let mark = b"/Type/EmbeddedFile";
        let first = pdf.windows(mark.len()).position(|w| w == mark).expect("an attachment");
        // its length stands before that
        let from = pdf[..first].windows(2).rposition(|w| w == b"<<").expect("a dictionary");
        let last = pdf.windows(mark.len()).rposition(|w| w == mark).expect("an attachment");
        let end = b"endstream";
        let to = last + pdf[last..].windows(end.len()).position(|w| w == end).expect("its end");
        from..to
    };
    let (mine, theirs) = (read_bytes(one.join(CERTIFICATE)), read_bytes(other.join(CERTIFICATE)));
    let (at, from) = (stretch(&mine), stretch(&theirs));
    let swapped = [&mine[..at.start], &theirs[from], &mine[at.end..]].concat();
    write(one.join("swapped.pdf"), swapped);
    altered(&one, &["swapped.pdf"], &["the PDF is not the one that its record gives"]);
    // a sound certificate of another record beside this job's record
    write(one.join(CERTIFICATE), theirs);
    let run = verify(&one, &["."]).must_end_with(1);
    says(&run.stdout, &["STALE: ", "holds another record of this revision"]);
}

#[test]
fn an_altered_record_is_found_and_where() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let record = read(output.join(RECORD));
    let spoilt = record.replace("2026-04-20T22:02:00", "2026-04-20T22:32:00");
    assert_ne!(spoilt, record);
    write(output.join(RECORD), spoilt);
    altered(&output, &[RECORD], &["the seal says"]);
    altered(&output, &["."], &["first at `applied.areas[0].wet_until`"]);
    let job = copy.folder.join("job.yaml");
    altered(
        &output,
        &[RECORD, "--job", job.to_str().expect("a name is text")],
        &["first at `applied.areas[0].wet_until`", "22:02:00", "22:32:00"],
    );
    remove(output.join(SEAL));
    write(output.join(RECORD), &record);
    let run = verify(&output, &[RECORD]).must_end_with(3);
    assert!(run.stdout.contains("UNFINISHED: the seal is missing"), "{}", run.stdout);
}

#[test]
fn a_foreign_key_is_found() {
    let (ours, theirs) = (Copy::of("fish-hall"), Copy::of("fish-hall"));
    let key = with_key(&ours);
    with_key(&theirs);
    let key = key.to_str().expect("a name is text");
    let theirs = rendered(&theirs);
    altered(&theirs, &[".", "--key", key], &["signed by a foreign key"]);
    // their seal beside our record
    let ours = rendered(&ours);
    verify(&ours, &[".", "--key", key]).must_end_with(0);
    copy_file(theirs.join(SEAL), ours.join(SEAL));
    altered(&ours, &[RECORD], &["another key than the record names"]);
    // and no signature where one is wanted
    let plain = Copy::of("fish-hall");
    altered(&rendered(&plain), &[".", "--key", key], &["a signature is wanted"]);
}

#[cfg(unix)]
#[test]
fn a_key_is_for_its_owner_and_never_printed() {
    use std::os::unix::fs::PermissionsExt;
    let copy = Copy::of("fish-hall");
    copy.set_company("signing_key: company.key");
    let file = copy.company_folder().join("company.key");
    let made = decant(copy.company_folder(), ["key", "--company", "company.yaml"]).must_end_with(0);
    let mode = fs::metadata(&file).expect("the key").permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
    let secret = read(&file);
    let secret = secret.split_whitespace().last().expect("the seed").to_owned();
    assert_eq!(secret.len(), 64);
    let again = decant(copy.company_folder(), ["key", "--company", "company.yaml"]).must_end_with(2);
    assert!(again.stderr.contains("never written over"), "{}", again.stderr);
    assert!(read(&file).contains(&secret));
    let output = copy.output();
    let drawn = copy.render(&[]).must_end_with(0);
    let data = decant(&copy.folder, ["data", "job.yaml", "certificate"]).must_end_with(0);
    let seen = verify(&output, &["."]).must_end_with(0);
    for run in [&made, &again, &drawn, &data, &seen] {
        assert!(!run.stdout.contains(&secret) && !run.stderr.contains(&secret), "the key was printed");
    }
    for entry in fs::read_dir(&output).expect("the folder") {
        let bytes = read_bytes(entry.expect("a file").path());
        let mut all = vec![bytes.clone()];
        all.extend(decant::front::attached(&bytes));
        for bytes in all {
            assert!(!bytes.windows(64).any(|w| w == secret.as_bytes()), "the key was written");
        }
    }
    // a key that others may read is not used
    fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).expect("a mode");
    let run = copy.render(&[]).must_end_with(2);
    assert!(run.stderr.contains("bad-signing-key") && run.stderr.contains("company.yaml:"), "{}", run.stderr);
    assert!(!run.stderr.contains(&secret));
}

#[test]
fn a_correction_names_the_record_before() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let first = sha256(&read_bytes(output.join(RECORD)));
    let log = copy.folder.join("log.yaml");
    let text = read(&log);
    let corrected = |digest: &str| {
        write(&log, format!("revision: 2\nreplaces: {digest}\n{text}"));
    };
    corrected(&"0".repeat(64));
    let run = copy.render(&[]).must_end_with(2);
    assert!(run.stderr.contains(&first), "{}", run.stderr);
    corrected(&first);
    copy.render(&[]).must_end_with(0);
    let second = read_bytes(output.join("2026-0420-record-r2.json"));
    let value: Value = serde_json::from_slice(&second).expect("JSON");
    assert_eq!(value["replaces"], json!({ "revision": 1, "sha256": first }));
    let run = verify(&output, &[".", "--verbose"]).must_end_with(0);
    let current = format!("revision 2 is current and whole, record {}", sha256(&second));
    assert!(run.stdout.contains(&current), "{}", run.stdout);
    assert!(run.stdout.contains("matches: revision 1, which it replaces"), "{}", run.stdout);
    // without the first one it is said what was not seen
    remove(output.join(RECORD));
    remove(output.join(CERTIFICATE));
    let run = verify(&output, &["."]).must_end_with(0);
    assert!(run.stdout.contains("not seen: revision 1"), "{}", run.stdout);
    // a revision without its predecessor is no revision
    write(&log, format!("revision: 2\n{text}"));
    let before = digests(&output);
    let run = copy.render(&[]).must_end_with(1);
    assert!(run.stderr.contains("bad-revision"), "{}", run.stderr);
    assert_eq!(digests(&output), before);
}

/// A record of another version is looked through, and its page is not drawn again.
#[test]
fn another_version_is_named() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let mut record: Value = serde_json::from_slice(&read_bytes(output.join(RECORD))).expect("JSON");
    record["made_by"]["program"] = json!("decant 0.0.1");
    let bytes = serde_json_canonicalizer::to_vec(&record).expect("JSON");
    let seal = json!({ "form": "decant seal 1", "record": sha256(&bytes), "key": null, "signature": null });
    write(output.join(RECORD), &bytes);
    write(output.join(SEAL), serde_json_canonicalizer::to_vec(&seal).expect("JSON"));
    let run = verify(&output, &[RECORD]).must_end_with(0);
    assert!(run.stdout.contains("it was made by decant 0.0.1"), "{}", run.stdout);
}

#[test]
fn a_certificate_written_anew_by_another_program_is_altered() {
    let folder = temporary();
    for text in [
        "%PDF-1.7 obj /Length 99999999999999999999/Type/EmbeddedFile stream",
        "%PDF-1.7 obj << /Type /EmbeddedFile /Length 12 >> stream",
    ] {
        write(folder.path().join("x.pdf"), text);
        altered(folder.path(), &["x.pdf"], &["another program has written this PDF anew"]);
    }
}

#[test]
fn files_of_another_job_in_the_place_of_ones_own_are_found() {
    let (fish, ferry) = (Copy::of("fish-hall"), Copy::of("ferry-terminal"));
    let (fish_out, ferry_out) = (rendered(&fish), rendered(&ferry));
    let both = temporary();
    let both = both.path().to_path_buf();
    for (from, number) in [(&fish_out, "2026-0420"), (&ferry_out, "2026-0413")] {
        for kind in ["certificate.pdf", "record.json", "seal.json"] {
            copy_file(from.join(format!("{number}-{kind}")), both.join(format!("{number}-{kind}")));
        }
    }
    for kind in ["certificate.pdf", "record.json", "seal.json"] {
        copy_file(fish_out.join(format!("2026-0420-{kind}")), ferry_out.join(format!("2026-0413-{kind}")));
    }
    altered(&ferry_out, &["."], &["it is called as of job 2026-0413, and is of job 2026-0420"]);
    let job = ferry.folder.join("job.yaml").display().to_string();
    altered(&fish_out, &[".", "--job", &job], &["it is of job \"2026-0420\", and the job given is \"2026-0413\""]);
    // beside those of the job they are others', unless one is named as the job's; and they are looked at all the same
    let run = verify(&both, &[".", "--job", &job]).must_end_with(0);
    assert!(run.stdout.contains("4 match, 0 altered"), "{}", run.stdout);
    assert!(run.stderr.contains("note: 2 of the files are of other jobs"), "{}", run.stderr);
    altered(&both, &["2026-0413-record.json", "2026-0420-record.json", "--job", &job], &["and the job given is"]);
    let record = read(both.join("2026-0420-record.json"));
    write(both.join("2026-0420-record.json"), record.replace("Packing hall", "Parking hall"));
    altered(&both, &[".", "--job", &job], &["2026-0420-record.json: ALTERED"]);
    // a seal that is named is looked at with its record
    let run = verify(&fish_out, &["2026-0420-record.json", "2026-0420-seal.json"]).must_end_with(0);
    assert_eq!(run.stdout.matches("2026-0420-record.json\n").count(), 1, "{}", run.stdout);
}

#[test]
fn what_is_no_certificate_is_unreadable() {
    let folder = temporary();
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let sheet = output.join("2026-0420-mix-sheet.pdf");
    for (name, bytes) in [("a.pdf", read_bytes(sheet)), ("b.json", b"{}".to_vec()), ("c.json", Vec::new())] {
        write(folder.path().join(name), bytes);
        let run = verify(folder.path(), &[name]).must_end_with(2);
        assert!(run.stdout.contains("UNREADABLE"), "{name}: {}", run.stdout);
    }
    verify(folder.path(), &["."]).must_end_with(2);
    verify(folder.path(), &["nothing"]).must_end_with(2);
}

#[test]
fn the_schema_describes_every_record() {
    let reported = decant(root(), ["schema"]).must_end_with(0);
    let schema: Value = serde_json::from_str(&reported.stdout).expect("the schema is JSON");
    let mut records = Vec::new();
    for job in samples() {
        let output = temporary();
        let job = job.to_str().expect("a name is text").to_owned();
        let folder = output.path().to_str().expect("a name is text");
        decant(root(), ["render", &job, "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
        for entry in fs::read_dir(folder).expect("the folder") {
            let path = entry.expect("a file").path();
            if path.to_string_lossy().ends_with("-record.json") {
                records.push(read_bytes(path));
            }
        }
    }
    assert!(records.len() >= 2, "{} records", records.len());
    for bytes in records {
        let record: Value = serde_json::from_slice(&bytes).expect("a record is JSON");
        let found = faults(&schema, &schema, &record, "");
        assert!(found.is_empty(), "{found:#?}");
        // a schema that takes anything has shown nothing
        for (path, wrong) in [
            ("/revision", json!(0)),
            ("/applied/loads/0/reading/low/unit", json!("ppm")),
            ("/verdicts/0/outcome", json!("fine")),
            ("/verdicts/1/treatment", Value::Null),
            ("/plan/client/email", json!("a@b.example")),
            ("/certificate/date", json!(7)),
        ] {
            let mut spoilt = record.clone();
            *spoilt.pointer_mut(path).unwrap_or_else(|| panic!("no {path} in the record")) = wrong;
            assert!(!faults(&schema, &schema, &spoilt, "").is_empty(), "the schema takes another {path}");
        }
    }
}

#[test]
fn a_page_in_another_language_is_nothing_altered_and_another_figure_is() {
    let copy = Copy::of("fish-hall");
    for (language, folder) in [("en", "out"), ("fr", "out/fr")] {
        decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--language", language]).must_end_with(0);
    }
    decant(&copy.folder, ["render", "job.yaml", "-o", "out/black", "--ink", "black"]).must_end_with(0);
    let run = verify(&copy.folder, &["out", "--verbose"]).must_end_with(0);
    assert!(run.stdout.contains("with a page in another language"), "{}", run.stdout);
    assert!(run.stdout.contains("with a page in another ink"), "{}", run.stdout);
    let log = copy.folder.join("log.yaml");
    let text = read(&log);
    write(&log, text.replace("reading: 1600 ppm", "reading: 1600 to 3200 ppm"));
    let again = ["render", "job.yaml", "-o", "out/fr", "--language", "fr", "--replace-draft"];
    decant(&copy.folder, again).must_end_with(0);
    let run = verify(&copy.folder, &["out"]).must_end_with(1);
    says(&run.stdout, &["STALE: ", "holds another record of this revision: first at `applied.loads[1]"]);
}
