//! The templates and drawings, embedded, and the documents made of them.

use std::collections::BTreeMap;

/// The kinds of document there is a template for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Template {
    /// Container labels, one a load.
    Label,
    /// The technician's mix sheet.
    MixSheet,
    /// The client's certificate.
    Certificate,
}

impl Template {
    /// Every template.
    pub const ALL: [Template; 3] = [Template::Label, Template::MixSheet, Template::Certificate];

    /// The template's name: of its file without `.typ`, and in messages.
    pub fn name(self) -> &'static str {
        match self {
            Template::Label => "label",
            Template::MixSheet => "mix-sheet",
            Template::Certificate => "certificate",
        }
    }
}

macro_rules! embedded {
    ($($path:literal),* $(,)?) => { [$(($path, include_bytes!(concat!("../../templates/", $path)).as_slice())),*] };
}

/// Paths under `templates/`, as templates import and read them.
static BUILT_IN: [(&str, &[u8]); 25] = embedded![
    "label.typ",
    "mix-sheet.typ",
    "certificate.typ",
    "parts/house.typ",
    "parts/pictograms.typ",
    "parts/signs.typ",
    "parts/strip.typ",
    "parts/timeline.typ",
    "pictograms/corrosion.svg",
    "pictograms/environment.svg",
    "pictograms/exclamation.svg",
    "pictograms/exploding-bomb.svg",
    "pictograms/flame-over-circle.svg",
    "pictograms/flame.svg",
    "pictograms/gas-cylinder.svg",
    "pictograms/health-hazard.svg",
    "pictograms/skull.svg",
    "signs/apron.svg",
    "signs/boots.svg",
    "signs/face-shield.svg",
    "signs/gloves.svg",
    "signs/goggles.svg",
    "signs/mask.svg",
    "signs/respirator.svg",
    "signs/suit.svg",
];

/// The files templates are made of, by path, such as `parts/house.typ`.
#[derive(Clone, Debug)]
pub struct Templates {
    files: BTreeMap<String, Vec<u8>>,
}

impl Templates {
    /// Those that come with the program.
    pub fn built_in() -> Self {
        Templates {
            files: BUILT_IN
                .iter()
                .map(|(path, bytes)| ((*path).into(), bytes.to_vec()))
                .collect(),
        }
    }

    /// Puts a file in the place of one, or beside the others.
    pub fn replace(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        self.files.insert(path.into(), bytes.into());
    }

    /// Path and content of every file, in order of path.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
    }
}
