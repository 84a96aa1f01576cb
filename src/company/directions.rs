//! The label's directions, one for each kind of use.

use std::ops::Deref;

use super::measured::{Flash, read_ph, read_viscosity};
use super::{Method, Surface, dose};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::range::{self, Readable};
use crate::quantity::{Basis, Dilution, Film, Form, Number, Strength, Time};
use crate::yaml::{Declared, Line, Node, Shape, keys, text, words};

/// The label's directions for one kind of use.
#[derive(Clone, Debug)]
pub struct Directions {
    pub key: String,
    pub title: String,
    /// The dilution as the label writes it; of a range the lower end, which is the dose.
    pub dilution: Dilution,
    /// The upper end of a range: the most that the label allows.
    pub dilution_most: Option<Dilution>,
    keys: DirectionsKeys,
}

impl Deref for Directions {
    type Target = DirectionsKeys;

    fn deref(&self) -> &DirectionsKeys {
        &self.keys
    }
}

keys! {
    /// The label's directions for one kind of use.
    #[derive(Clone, Debug)]
    pub struct DirectionsKeys {
        /// How the label heads them; without it, their key. Example: `Hard surfaces`
        title: String, optional;
        /// The dilution as the label writes it. Of a range, `1 to 2 fl oz/gal`, the lower end is the dose and the upper the most
        /// that is allowed. Example: `2 fl oz/gal`, `1:64`, `400 ppm`, `ready to use`
        dilution: String, required;
        /// What the second figure of a dilution counts. It is an error against a dilution that says it itself: `1:64`,
        /// `1 in 64`, `0.5 %`.
        basis: Basis, or(Basis::AddedTo, "added-to");
        /// How long the surface must stay visibly wet. Example: `10 min`
        contact_time: Time = &range::CONTACT, required;
        /// How much solution the label puts on a surface. Without it the sprayer needs both `flow` and `pace`.
        /// Example: `600 ft2/gal`
        coverage: Film = &range::COVERAGE, optional;
        /// The methods that the label permits. Example: `[spray, wipe]`
        methods: Vec<Method>, required;
        /// Whether the label directs spraying large areas, which a solution that burns needs beyond 1 L indoors.
        large_areas: bool, or(false, "no");
        /// The surfaces they are for.
        surface: Surface, or(Surface::Hard, "hard");
        /// What the label says to rinse with afterwards; `none`, `no` or `not required` where it asks for no rinse, which sets
        /// aside no rinse that a residue asks for. Example: `potable water`, `none`
        rinse: Option<String> = text("text", read_rinse), or(None, "none");
        /// How long people stay out after application, as the label says: a time up to 7 days, `when dry`, or both.
        /// Example: `30 min`, `when dry`, `2 h and when dry`
        reentry: LabelReentry, optional;
        /// pH of the use solution at this dilution, where label or data sheet gives it. Example: `7`
        ph: Number = text("a pH from 0 to 14", read_ph), optional;
        /// Flash point of the use solution, closed cup, where one of them gives it. Example: `none found`
        flash_point: Flash, optional;
        /// Kinematic viscosity of the use solution at 40 degrees Celsius. Example: `1 mm2/s`
        viscosity: Number = text("a kinematic viscosity (mm2/s, cSt)", read_viscosity), optional;
        /// The strength that the label prints for this dilution. Example: `660 ppm`
        stated_strength: Strength = &range::STATED, optional;
    }
    + origin
}

words! {
    for Basis {
        /// water, to which the product is added: how labels are commonly worded
        AddedTo = "added-to",
        /// solution: the mix is made up to that much in all
        MadeUpTo = "made-up-to",
    }
}

impl Directions {
    pub(super) fn new(key: String, dilution: (Dilution, Option<Dilution>), keys: DirectionsKeys) -> Directions {
        let (dilution, dilution_most) = dilution;
        let title = keys.title.clone().unwrap_or_else(|| key.replace(['-', '_'], " "));
        Directions { key, title, dilution, dilution_most, keys }
    }
}

/// The dilution of directions by the product's form: the dose, and the most of a range.
pub(super) fn read_dilution(
    uses: &Node<'_>,
    form: Form,
    report: &mut Diagnostics,
) -> Option<(Dilution, Option<Dilution>)> {
    let written = uses.get("basis");
    let basis = match &written {
        Some(node) => Basis::from_node(node, &mut Diagnostics::new())?,
        None => Basis::AddedTo,
    };
    let node = uses.get("dilution")?;
    // what is no text has been reported
    node.text(&mut Diagnostics::new())?;
    let (dilution, most) = node.parse(report, |text| Dilution::parse_range(text, form, basis))?;
    let agrees = written.is_none_or(|written| dose::basis_agrees(&written, &node, (&dilution, form, basis), report));
    let strongest = most.as_ref().unwrap_or(&dilution);
    (dose::is_plausible(strongest, &node, report) && agrees).then_some((dilution, most))
}

/// How files say that the label asks for no rinse.
const NO_RINSE: &[&str] = &[
    "none",
    "no",
    "false",
    "no rinse",
    "not required",
    "none required",
    "not needed",
    "no rinse required",
    "not necessary",
];

/// When a label lets people come back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelReentry {
    pub after: Option<Time>,
    /// When the surfaces are dry: somebody looks, no clock says it. With a time, when both are so.
    pub when_dry: bool,
}

/// How people write it.
const WHEN_DRY: [&str; 31] = [
    "when dry",
    "until dry",
    "once dry",
    "after dry",
    "after drying",
    "when completely dry",
    "until completely dry",
    "when surface is dry",
    "until surface is dry",
    "when the surface is dry",
    "until the surface is dry",
    "when surfaces are dry",
    "until surfaces are dry",
    "when the surfaces are dry",
    "until the surfaces are dry",
    "when surfaces have dried",
    "until surfaces have dried",
    "until the surfaces have dried",
    "until the floor is dry",
    "cuando esté seco",
    "hasta que seque",
    "hasta que esté seco",
    "una vez seco",
    "después de secar",
    "cuando las superficies estén secas",
    "hasta que las superficies estén secas",
    "une fois sec",
    "après séchage",
    "jusqu'au séchage",
    "quand les surfaces sont sèches",
    "dry",
];

/// What joins it to a time.
const JOINED: [&str; 6] = [" or", " and", " o", " y", " ou", " et"];

/// What makes a time count from dry: after these no comma joins.
const FROM_DRY: [&str; 12] =
    ["after", "once", "from", "since", "following", "una", "después", "tras", "desde", "une", "après", "depuis"];

impl Declared for LabelReentry {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<LabelReentry> {
        let said = node.text(report)?.trim_end_matches('.').replace('’', "'").to_lowercase();
        let dry = WHEN_DRY.iter().find_map(|words| Some((said.strip_suffix(words)?.trim_end(), *words)));
        let Some((before, words)) = dry else {
            if range::REENTRY.read(&said).is_err() && says_dry(&said) {
                return report.fail(not_understood(node, &said));
            }
            let after = node.within(report, &range::REENTRY)?;
            return Some(LabelReentry { after: Some(after), when_dry: false });
        };
        if before.is_empty() {
            return Some(LabelReentry { after: None, when_dry: true });
        }
        let by_comma = || before.strip_suffix(',').filter(|_| !says_from(words));
        let time = JOINED.iter().find_map(|word| before.strip_suffix(word)).or_else(by_comma);
        let Some(time) = time.map(|time| time.trim_end_matches([',', ' '])) else {
            return report.fail(not_understood(node, &said));
        };
        if Time::read(time).is_err() {
            return report.fail(not_understood(node, &said));
        }
        let after = node.parse(report, |_| range::REENTRY.read(time))?;
        Some(LabelReentry { after: Some(after), when_dry: true })
    }

    fn shape() -> Shape {
        Shape::line("a time (s, min, h, days), `when dry`, or both", Line::Any)
    }
}

fn says_from(text: &str) -> bool {
    text.split_whitespace().any(|word| FROM_DRY.contains(&word))
}

/// Whether a word of it is about drying.
fn says_dry(text: &str) -> bool {
    let stems = ["dry", "drie", "sèch", "sech", "séch", "seca", "seque"];
    let mut words = text.split(|letter: char| !letter.is_alphabetic());
    words.any(|word| matches!(word, "sec" | "seco" | "secos") || stems.iter().any(|stem| word.starts_with(stem)))
}

/// A time that counts from dry is never taken for one that counts from the end of the work, which is earlier; so where one
/// may be meant, no hint invites that either.
fn not_understood(node: &Node<'_>, said: &str) -> Diagnostic {
    let problem = node.error("bad-quantity", format!("when people may come back is not understood from `{said}`"));
    let joined = "write `when dry`, or a time from the end of the work and `when dry`: `2 h and when dry`";
    let from_dry = "a time that counts from dry has no place here, since nobody knows when that is: write `when dry` and put the label's \
                    sentence into the job's `notes`, or write a time from the end of the work that surely covers it";
    if says_from(said) { problem.hint(from_dry) } else { problem.hint(joined).hint(from_dry) }
}

fn read_rinse(node: &Node<'_>, report: &mut Diagnostics) -> Option<Option<String>> {
    let text = node.text(report)?;
    let said = text.trim_end_matches('.').to_lowercase();
    if NO_RINSE.contains(&said.as_str()) {
        return Some(None);
    }
    if matches!(said.as_str(), "yes" | "true" | "required") {
        let problem = node.error("rinse-with-what", format!("`{text}` does not say what to rinse with"));
        return report.fail(problem.hint("write what the label names, such as `rinse: potable water`; or `none`"));
    }
    Some(Some(text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::Source;

    fn read(text: &str) -> (Option<LabelReentry>, String) {
        let mut report = Diagnostics::new();
        let source =
            Source::from_text(std::path::Path::new("company.yaml"), format!("reentry: \"{text}\"\n"), &mut report)
                .expect("YAML");
        let node = source.root().get("reentry").expect("the key");
        (LabelReentry::from_node(&node, &mut report), report.to_string())
    }

    #[test]
    fn a_time_that_counts_from_dry_is_refused() {
        for text in [
            "2 h after drying",
            "2 h after dry",
            "2 h once dry",
            "2 h, once dry",
            "2 h when dry",
            "two hours after drying",
            "1 h and 2 h after drying",
            "2 h after the surfaces are dry",
            "2 h after the floor has dried",
            "2 h après séchage",
            "2 h une fois sec",
            "2 h una vez seco",
            "2 h después de secar",
            "2 h después de que las superficies estén secas",
        ] {
            let (read, report) = read(text);
            assert_eq!(read, None, "{text}");
            assert!(report.contains("counts from dry has no place here"), "{text}: {report}");
            assert!(report.contains("when that is: write `when dry` and put the label's"), "{text}: {report}");
            let invites = report.contains("2 h and when dry");
            assert_eq!(invites, text == "2 h when dry", "{text}: {report}");
        }
    }

    #[test]
    fn what_is_not_understood_of_dry_is_answered_with_when_dry() {
        for text in [
            "when dry or 2 h",
            "until dry, at least 2 h",
            "2 h or until dry, whichever is longer",
            "when the room is bone dry",
            "at least 2 h and until dry",
            "al secar",
            "sec",
        ] {
            let (read, report) = read(text);
            assert_eq!(read, None, "{text}");
            assert!(report.contains("write `when dry`, or a time from the end"), "{text}: {report}");
        }
        for text in ["30 secs of nothing", "soon", "8 days and when dry"] {
            let (read, report) = read(text);
            assert!(read.is_none() && !report.contains("write `when dry`"), "{text}: {report}");
        }
    }

    #[test]
    fn dry_and_a_time_that_is_joined_to_it_are_both_read() {
        for text in ["dry", "When completely dry.", "until surfaces have dried", "when surface is dry", "Après séchage"]
        {
            assert_eq!(read(text).0, Some(LabelReentry { after: None, when_dry: true }), "{text}");
        }
        let after = Time::read("2 h").ok();
        for text in
            ["2 h and when dry", "2 h or until dry", "2 h, until dry", "2 h, and after drying", "2 h y una vez seco"]
        {
            assert_eq!(read(text).0, Some(LabelReentry { after: after.clone(), when_dry: true }), "{text}");
        }
        assert_eq!(read("2 h").0, Some(LabelReentry { after, when_dry: false }));
    }
}
