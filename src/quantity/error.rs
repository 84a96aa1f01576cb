//! What can be wrong with a quantity somebody wrote, said in their words, with what to write instead.

use std::fmt;

/// A quantity that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// One sentence: what is wrong. It quotes what was written.
    pub message: String,
    /// What to write instead, or why it is refused; may be empty.
    pub hints: Vec<String>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        self.hints.iter().try_for_each(|hint| write!(f, "; {hint}"))
    }
}

impl std::error::Error for QuantityError {}

/// Everything that can be wrong. `text` is always what was written, quoted by [`quote`].
#[derive(Clone, Debug, thiserror::Error)]
pub(crate) enum Problem {
    #[error("nothing is written here; {wanted} is wanted")]
    Empty { wanted: &'static str, examples: Vec<String> },
    #[error("this is {length} characters long; a quantity has at most {most}")]
    TooLong { length: usize, most: usize },
    #[error("{text} has no unit; write e.g. {}", either(examples))]
    BareNumber { text: String, examples: Vec<String>, units: &'static str },
    #[error("{text} has no number before its unit")]
    NoNumber { text: String },
    #[error("{text} is not a number that can be read")]
    BadNumber { text: String, hint: String },
    #[error("{text} is {found}; {wanted} is wanted here")]
    WrongDimension { text: String, found: &'static str, wanted: &'static str, units: &'static str },
    #[error("{word} is not a unit known here")]
    UnknownUnit { word: String, near: Option<&'static str>, units: &'static str },
    #[error("{word} is a British imperial measure, which is never used here")]
    Imperial { word: String },
    #[error("{text} can be read in two ways")]
    Ambiguous { text: String, choices: Vec<String> },
    #[error("{text} holds {what}, which has no place here")]
    Unexpected { text: String, what: String, hints: Vec<String> },
    #[error("{text} is below nought, which {wanted} cannot be")]
    Negative { text: String, wanted: &'static str },
    #[error("{text} is too large: {wanted} is at most {most}")]
    TooLarge { text: String, wanted: &'static str, most: &'static str },
    #[error("{text} is below the lowest temperature there is, −273.15 °C")]
    TooCold { text: String },
    #[error("{text} is a range; one figure is wanted")]
    Range { text: String },
    #[error("{text}: {why}")]
    Refused { text: String, why: String, hints: Vec<String> },
}

impl Problem {
    fn hints(&self) -> Vec<String> {
        let units = |units: &str| vec![format!("units that would do: {units}")];
        match self {
            Problem::Empty { examples, .. } => vec![format!("write e.g. {}", either(examples))],
            Problem::TooLong { .. } => Vec::new(),
            Problem::BareNumber { units: names, .. } => units(names),
            Problem::NoNumber { .. } => vec!["write the number first, then the unit".into()],
            Problem::BadNumber { hint, .. } => vec![hint.clone()],
            Problem::WrongDimension { units: names, .. } => units(names),
            Problem::UnknownUnit { near, units: names, .. } => {
                near.map(|near| format!("did you mean `{near}`?")).into_iter().chain(units(names)).collect()
            }
            Problem::Imperial { .. } => vec!["write US measures (`gal`, `fl oz`) or litres".into()],
            Problem::Ambiguous { choices, .. } => {
                vec![format!("write {}, whichever is meant", choices.join(" or "))]
            }
            Problem::Range { text } => {
                let mixed = text.contains('/').then(|| "a mixed number is written `1 1/2`".to_string());
                let ends = "which end protects depends on its use: see the product label or the SDS".to_string();
                mixed.into_iter().chain([ends]).collect()
            }
            Problem::Unexpected { hints, .. } | Problem::Refused { hints, .. } => hints.clone(),
            Problem::Negative { .. } | Problem::TooLarge { .. } | Problem::TooCold { .. } => Vec::new(),
        }
    }
}

impl From<Problem> for QuantityError {
    fn from(problem: Problem) -> Self {
        QuantityError { message: problem.to_string(), hints: problem.hints() }
    }
}

fn either(examples: &[String]) -> String {
    examples.iter().map(|example| format!("`{example}`")).collect::<Vec<_>>().join(" or ")
}

/// What was written, between backquotes, cut to a length a message can bear and with nothing a terminal would obey.
pub(crate) fn quote(text: &str) -> String {
    const MOST: usize = 60;
    let clean = |c: char| if c.is_control() || c == '`' { '\u{FFFD}' } else { c };
    let mut shown: String = text.trim().chars().take(MOST).map(clean).collect();
    if text.trim().chars().nth(MOST).is_some() {
        shown.push('…');
    }
    format!("`{shown}`")
}
