//! The templates and drawings, embedded, and the documents made of them.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::digest::hex;

/// The kinds of document there is a template for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Template {
    /// Container labels, one a load.
    Label,
    /// The technician's mix sheet.
    MixSheet,
    /// The client's certificate.
    Certificate,
    /// What must be on the van.
    LoadOut,
    /// What became of a contract's visits.
    ServiceReport,
    /// Outlines and rulers to check a printer.
    TestPrint,
    /// Registers over many records.
    Register,
    /// That a visit was not made.
    Notice,
}

impl Template {
    /// Every template.
    pub const ALL: [Template; 8] = [
        Template::Label,
        Template::MixSheet,
        Template::Certificate,
        Template::LoadOut,
        Template::ServiceReport,
        Template::TestPrint,
        Template::Register,
        Template::Notice,
    ];

    /// The template's name: of its file without `.typ`, and in messages.
    pub fn name(self) -> &'static str {
        match self {
            Template::Label => "label",
            Template::MixSheet => "mix-sheet",
            Template::Certificate => "certificate",
            Template::LoadOut => "load-out",
            Template::ServiceReport => "service-report",
            Template::TestPrint => "test-print",
            Template::Register => "register",
            Template::Notice => "notice",
        }
    }
}

macro_rules! embedded {
    ($($path:literal),* $(,)?) => { [$(($path, include_bytes!(concat!("../../templates/", $path)).as_slice())),*] };
}

/// Paths under `templates/`, as templates import and read them.
static BUILT_IN: [(&str, &[u8]); 32] = embedded![
    "label.typ",
    "mix-sheet.typ",
    "certificate.typ",
    "load-out.typ",
    "service-report.typ",
    "test-print.typ",
    "register.typ",
    "notice.typ",
    "parts/house.typ",
    "parts/label-pieces.typ",
    "parts/label-shapes.typ",
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

/// Folders that templates read and a user's folder cannot hold: a document's data, the logo, the starting points.
const RESERVED: [&str; 3] = ["doc", "house", "main"];

/// Whether pages are drawn in color or for a printer that has one ink.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ink {
    /// Colors and greys.
    #[default]
    Color,
    /// Black or nothing: captions, thin rules and pictogram frames are black too.
    Black,
}

impl Ink {
    /// The word that templates and the command line know it by.
    pub fn word(self) -> &'static str {
        match self {
            Ink::Color => "color",
            Ink::Black => "black",
        }
    }
}

/// The files templates are made of, by path, such as `parts/house.typ`, and what is the same for all pages of a run.
#[derive(Clone, Debug)]
pub struct Templates {
    files: BTreeMap<String, TemplateFile>,
    ink: Ink,
}

#[derive(Clone, Debug)]
struct TemplateFile {
    bytes: Vec<u8>,
    /// Where it lies, if it is the user's.
    from: Option<PathBuf>,
}

impl Templates {
    /// Those that come with the program.
    pub fn built_in() -> Self {
        let ours = |bytes: &[u8]| TemplateFile { bytes: bytes.to_vec(), from: None };
        Templates {
            files: BUILT_IN.iter().map(|(path, bytes)| ((*path).into(), ours(bytes))).collect(),
            ink: Ink::Color,
        }
    }

    /// Puts a file of ours in the place of one, or beside the others. The path is relative and has no `..`.
    pub fn replace(&mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        let bytes = bytes.into();
        self.files.insert(path.into(), TemplateFile { bytes, from: None });
    }

    /// Puts a file of the user's in the place of one, or beside the others: its faults are reported as the user's.
    pub(super) fn replace_with_own(&mut self, path: String, bytes: Vec<u8>, from: PathBuf) {
        let from = Some(from);
        self.files.insert(path, TemplateFile { bytes, from });
    }

    /// For a printer of one ink, or for color.
    pub fn set_ink(&mut self, ink: Ink) {
        self.ink = ink;
    }

    /// What the pages are drawn for.
    pub fn ink(&self) -> Ink {
        self.ink
    }

    /// Path and content of every file, in order of path.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files.iter().map(|(path, file)| (path.as_str(), file.bytes.as_slice()))
    }

    /// Whether a file is the user's own.
    pub(super) fn is_own(&self, path: &str) -> bool {
        self.files.get(path).is_some_and(|file| file.from.is_some())
    }

    /// Whether any of them is the user's own.
    pub fn any_own(&self) -> bool {
        self.files.values().any(|file| file.from.is_some())
    }

    /// SHA-256 over the font and the templates that a certificate is drawn with, in hexadecimal: with the same digest the same
    /// data gives the same page. The user's own are all counted, ours only as far as a certificate reads them; the logo, which
    /// is data, is not.
    pub fn certificate_digest(&self) -> String {
        const READ: [&str; 2] = ["certificate.typ", "parts/house.typ"];
        let mut hasher = Sha256::new();
        hasher.update(super::fonts::digest());
        let read = |path: &str, file: &TemplateFile| file.from.is_some() || READ.contains(&path);
        for (path, file) in self.files.iter().filter(|(path, file)| read(path, file)) {
            // lengths keep two files from being told apart in more than one way
            hasher.update((path.len() as u64).to_be_bytes());
            hasher.update(path);
            hasher.update((file.bytes.len() as u64).to_be_bytes());
            hasher.update(&file.bytes);
        }
        hex(&hasher.finalize())
    }

    /// Path of every file of the user's, and where it lies.
    pub(super) fn own(&self) -> impl Iterator<Item = (&str, &Path)> {
        self.files.iter().filter_map(|(path, file)| Some((path.as_str(), file.from.as_deref()?)))
    }

    /// These without the user's: ours in their place. What is not a template of ours stays.
    pub(super) fn without_own(&self) -> Self {
        let mut plain = Templates::built_in();
        let rest = self.files.iter().filter(|(_, file)| file.from.is_none());
        plain.files.extend(rest.map(|(path, file)| (path.clone(), file.clone())));
        plain.ink = self.ink;
        plain
    }
}

/// Whether a path's first folder is one that a user's folder cannot hold.
pub(super) fn is_reserved(path: &str) -> bool {
    path.split('/').next().is_some_and(|first| RESERVED.contains(&first))
}
