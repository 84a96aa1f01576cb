//! A label in two languages: what the second says, and that the first stays as it is alone.

use std::path::Path;

use super::{LabelJob, LabelRun, Voice, labels};
use crate::job::Job;
use crate::plan::plan;
use crate::quantity::Printer;
use crate::record::Record;
use crate::report::Report;
use crate::wording::Words;

#[test]
fn a_label_says_again_what_the_crew_must_read() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/ferry-terminal/job.yaml");
    let mut report = Report::new();
    let job = Job::read(&file, &mut report).unwrap();
    let plan = plan(&job, &mut report).unwrap();
    let origin = job.catalog.source.root().origin();
    let record = Record::of(&plan, &job.catalog.record_link, &origin).unwrap();
    let (english, spanish) = (Words::of("en").unwrap(), Words::of("es").unwrap());
    let voice = |words| Voice {
        words,
        units: Printer::new(job.catalog.units).with(Words::notation(words)),
        plan: &plan,
        record: &record,
    };
    let made = |voice: &Voice<'_>, second: Option<&Voice<'_>>| {
        let job = LabelJob { voice, second, job: &job };
        labels(&[job], &LabelRun::default())
    };
    let alone = made(&voice(&english), None).unwrap();
    let both = made(&voice(&english), Some(&voice(&spanish))).unwrap();
    for (alone, both) in alone.iter().zip(&both) {
        let mut label = both.view.data["labels"][0].clone();
        let second = label["second"].take();
        assert_eq!(label, alone.view.data["labels"][0]);
        assert_eq!((&both.view.data["lang"], &second["lang"]), (&"en".into(), &"es".into()));
        assert_eq!(second["words"]["contact"], "Mantener mojado");
        assert_eq!(second["ghs"]["signal"], "Atención");
        assert_eq!(second["dilution"]["big"], "2 oz líq/gal");
        assert!(second["ghs"]["hazards"][0].as_str().unwrap().contains("Provoca"), "{second}");
    }
    assert!(!both.is_empty());
}
