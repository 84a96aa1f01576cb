//! The code on every label leads to the record, also from the coarsest common label printer (203 dpi).

use crate::support::page_code::codes_on;
use crate::support::program::decant;
use crate::support::workspace::{root, samples, temporary};

#[test]
fn every_label_code_reads_as_the_link_of_the_plan() {
    for job in samples() {
        let plan = decant(root(), ["plan".as_ref(), job.as_os_str()]).must_end_with(0);
        let link =
            plan.stdout.split_whitespace().find(|word| word.starts_with("https://")).expect("a plan has its link");
        for dpi in ["203", "300"] {
            let output = temporary();
            let folder = output.path().to_str().expect("a temporary folder's name is text");
            let job = job.to_str().expect("a sample's name is text");
            let run =
                decant(root(), ["render", job, "-o", folder, "--only", "labels", "--format", "png", "--dpi", dpi]);
            let run = run.must_end_with(0);
            let pages: Vec<&str> = run.stdout.lines().filter(|line| line.ends_with(".png")).collect();
            assert!(!pages.is_empty(), "no page of {job}");
            for page in pages {
                let codes = codes_on(page.as_ref());
                assert!(!codes.is_empty(), "no code on {page} at {dpi} dpi");
                assert!(codes.iter().all(|code| code == link), "{page} at {dpi} dpi: {codes:?}, not {link}");
            }
        }
    }
}
