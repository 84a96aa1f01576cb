//! What `decant verify` says of folders: what is gone, stale or unfinished, which revision is current and whole, and a summary.

use std::path::{Path, PathBuf};

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, copy_file, make_folder, read, read_bytes, remove, says, sha256, write};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";
const RECORD: &str = "2026-0420-record.json";
const SEAL: &str = "2026-0420-seal.json";

fn render(copy: &Copy, folder: &Path) -> Outcome {
    let folder = folder.to_str().expect("a temporary folder's name is text");
    decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "certificate"])
}

fn rendered(copy: &Copy) -> PathBuf {
    let output = copy.output();
    render(copy, &output).must_end_with(0);
    output
}

#[track_caller]
fn verify(folder: &Path, more: &[&str], code: i32, parts: &[&str]) -> String {
    let run = decant(folder, ["verify"].iter().chain(more)).must_end_with(code);
    says(&run.stdout, parts);
    run.stdout
}

/// Gives the log a second revision that replaces the record of a folder.
fn second_revision(copy: &Copy, output: &Path) {
    let record = read_bytes(output.join(RECORD));
    let digest = sha256(&record);
    let log = copy.folder.join("log.yaml");
    let text = read(&log);
    write(&log, format!("revision: 2\nreplaces: {digest}\n{text}"));
    render(copy, output).must_end_with(0);
}

#[test]
fn a_folder_has_one_line_and_all_have_a_summary() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let said = verify(
        &output,
        &["."],
        0,
        &[
            ".: 2 match, 0 altered, 0 missing; job 2026-0420: of what was seen, revision 1 is current and whole",
            "\n2 match, 0 altered, 0 missing of 2 files\n",
        ],
    );
    assert_eq!(said.lines().count(), 2, "{said}");
    verify(&output, &[".", "--verbose"], 0, &["  matches: the page", "of 2 files"]);
    verify(&output, &[RECORD], 0, &["  matches: the whole record", "1 match, 0 altered, 0 missing of 1 files"]);
}

#[test]
fn a_certificate_that_is_gone_is_missing() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    remove(output.join(CERTIFICATE));
    for files in [".", RECORD] {
        verify(
            &output,
            &[files],
            1,
            &[
                "MISSING: its certificate 2026-0420-certificate.pdf is not beside it",
                "revision 1 is current and NOT WHOLE",
                "1 match, 0 altered, 1 missing of 1 files",
            ],
        );
    }
    render(&copy, &output).must_end_with(0);
    verify(&output, &["."], 0, &["0 missing"]);
}

#[test]
fn the_current_revision_is_the_last_and_may_not_be_whole() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    second_revision(&copy, &output);
    verify(&output, &["."], 0, &["revision 2 is current and whole"]);
    remove(output.join("2026-0420-certificate-r2.pdf"));
    verify(&output, &["."], 1, &["revision 2 is current and NOT WHOLE", "revision 1 is whole, and not current"]);
}

#[test]
fn a_revision_in_the_place_of_another_is_not_accepted() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    second_revision(&copy, &output);
    let job = copy.folder.join("job.yaml").display().to_string();
    // the first revision, where the job is at the second
    for first in [CERTIFICATE, RECORD] {
        verify(
            &output,
            &[first, "--job", &job],
            1,
            &["STALE: it is revision 1, and the job has come to revision 2, which was not seen"],
        );
    }
    // beside the second it is what was replaced
    verify(&output, &[".", "--job", &job], 0, &["revision 2 is current and whole"]);
    // the first revision under the second one's name
    for kind in ["certificate", "record", "seal"] {
        let ending = if kind == "certificate" { "pdf" } else { "json" };
        copy_file(
            output.join(format!("2026-0420-{kind}.{ending}")),
            output.join(format!("2026-0420-{kind}-r2.{ending}")),
        );
    }
    verify(&output, &["."], 1, &["ALTERED: it is called as of revision 2, and is of revision 1"]);
}

/// Every state that a killed run can leave between the certificate and the seal, in the order in which they are written.
#[test]
fn a_kill_between_record_and_seal_never_reads_as_altered() {
    let copy = Copy::of("fish-hall");
    // before the log was complete there was a record without a certificate
    let whole_log = read(copy.folder.join("log.yaml"));
    write(copy.folder.join("log.yaml"), "loads: []\n");
    let (before, after) = (copy.company_folder().join("before"), copy.company_folder().join("after"));
    let folder = before.to_str().expect("a name is text");
    decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
    write(copy.folder.join("log.yaml"), &whole_log);
    render(&copy, &after).must_end_with(0);
    let stages: [&[(&Path, &str)]; 4] = [
        &[(&before, RECORD)],
        &[(&before, RECORD), (&after, CERTIFICATE)],
        &[(&after, RECORD), (&after, CERTIFICATE)],
        &[(&after, RECORD), (&after, CERTIFICATE), (&after, SEAL)],
    ];
    for (i, stage) in stages.iter().enumerate() {
        let killed = copy.company_folder().join(format!("killed-{i}"));
        make_folder(&killed);
        for (from, name) in *stage {
            copy_file(from.join(name), killed.join(name));
        }
        let finished = i + 1 == stages.len();
        let said = verify(&killed, &["."], if finished { 0 } else { 3 }, &["0 altered"]);
        assert!(!said.contains("ALTERED"), "{said}");
        assert_eq!(said.contains("UNFINISHED: the seal is missing"), !finished, "{said}");
        // the next run finishes it
        render(&copy, &killed).must_end_with(0);
        verify(&killed, &["."], 0, &["2 match, 0 altered, 0 missing"]);
    }
}

#[test]
fn a_certificate_beside_a_record_that_withholds_it_is_stale() {
    let copy = Copy::of("fish-hall");
    let output = rendered(&copy);
    let withheld = copy.company_folder().join("withheld");
    write(copy.folder.join("log.yaml"), "loads: []\n");
    let folder = withheld.to_str().expect("a name is text");
    decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
    for name in [RECORD, SEAL] {
        copy_file(withheld.join(name), output.join(name));
    }
    let said = verify(
        &output,
        &["."],
        1,
        &["STALE: ", "holds another record of this revision", "holds no certificate: it was withheld"],
    );
    assert!(!said.contains("ALTERED"), "{said}");
}
