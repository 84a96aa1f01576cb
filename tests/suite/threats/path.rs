//! A name that is a path: nothing is written elsewhere.

use crate::support::program::decant;
use crate::support::workspace::Copy;

#[test]
fn a_job_number_that_is_a_path_is_refused() {
    for hostile in ["../../etc", "/etc/x", "..\\\\x", "a/b"] {
        let copy = Copy::of("ferry-terminal");
        copy.change_job("job: 2026-0413", &format!("job: \"{hostile}\""));
        for command in ["render", "page"] {
            let output = copy.output();
            let run =
                decant(&copy.folder, [command, "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(2);
            assert!(run.stderr.contains("job.yaml:"), "{}", run.stderr);
        }
        assert!(!copy.output().exists());
    }
}
