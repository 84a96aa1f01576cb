//! A folder of the user's own templates, read in the place of ours, file by file.
//!
//! Everything is read here, once, within bounds; a template later sees these files and ours and nothing else, so no path
//! that it writes can lead out of the folder.

use std::fs;
use std::path::{Path, PathBuf};

use super::templates::{Template, Templates, is_reserved};
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::input::{self, InputError};
use crate::yaml::{Origin, nearest};

/// Files, at most.
const MOST_FILES: usize = 200;
/// Bytes of one file and of all together, at most.
const LARGEST_FILE: u64 = 2 << 20;
const LARGEST_FOLDER: u64 = 16 << 20;
/// Folders inside one another, at most.
const DEEPEST: usize = 8;

impl Templates {
    /// Puts every file of `folder` in the place of ours of that name, or beside them. Faults are added to `report`;
    /// `origin` is where the folder was named. Files and folders whose name begins with a dot are passed over.
    pub fn read_folder(&mut self, folder: &Path, origin: &Origin, report: &mut Diagnostics) {
        let root = match fs::canonicalize(folder) {
            Ok(root) if root.is_dir() => root,
            Ok(_) => {
                report.push(origin.error("bad-templates", format!("`{}` is not a folder", folder.display())));
                return;
            }
            Err(e) => {
                let message = format!("cannot read the folder `{}`: {e}", folder.display());
                report.push(origin.error("bad-templates", message));
                return;
            }
        };
        let mut reading = Reading { root: &root, origin, found: Vec::new(), bytes: 0, open: Vec::new() };
        match reading.folder(folder, "", report) {
            Ok(()) => {}
            Err(Full) => {
                let message = format!(
                    "the folder `{}` holds more than templates need: at most {MOST_FILES} files, {} MiB in all and {DEEPEST} folders inside one another",
                    folder.display(),
                    LARGEST_FOLDER >> 20
                );
                report.push(origin.error("bad-templates", message));
            }
        }
        if reading.found.is_empty() && !report.has_errors() {
            report.push(origin.error("bad-templates", format!("the folder `{}` is empty", folder.display())));
        }
        for (path, bytes, from) in reading.found {
            self.replace_with_own(path, bytes, from);
        }
    }
}

/// The folder is past its bounds; nothing more of it is read.
struct Full;

struct Reading<'a> {
    root: &'a Path,
    origin: &'a Origin,
    found: Vec<(String, Vec<u8>, PathBuf)>,
    bytes: u64,
    /// The true folders on the way to the one being read: one that is met again is a ring of links.
    open: Vec<PathBuf>,
}

impl Reading<'_> {
    fn folder(&mut self, folder: &Path, prefix: &str, report: &mut Diagnostics) -> Result<(), Full> {
        if self.open.len() >= DEEPEST {
            return Err(Full);
        }
        let listed = fs::read_dir(folder).and_then(|entries| {
            entries.take(MOST_FILES + 1).map(|e| Ok(e?.file_name())).collect::<Result<Vec<_>, std::io::Error>>()
        });
        let mut names = match listed {
            Ok(names) => names,
            Err(e) => {
                self.refuse(folder, format!("cannot read the folder: {e}"), report);
                return Ok(());
            }
        };
        // the order of a folder is the file system's; ours is by name
        names.sort();
        for name in names {
            let path = folder.join(&name);
            let Some(name) = name.to_str() else {
                self.refuse(&path, "the name is not UTF-8".into(), report);
                continue;
            };
            if name.starts_with('.') {
                continue;
            }
            if typst::syntax::VirtualPath::new(name).is_err() {
                self.refuse(&path, "the name holds a character that a template cannot write".into(), report);
                continue;
            }
            self.entry(&path, &format!("{prefix}{name}"), report)?;
        }
        Ok(())
    }

    fn entry(&mut self, path: &Path, name: &str, report: &mut Diagnostics) -> Result<(), Full> {
        let truly = match fs::canonicalize(path) {
            Ok(truly) => truly,
            Err(e) => {
                self.refuse(path, format!("cannot read it: {e}"), report);
                return Ok(());
            }
        };
        if !truly.starts_with(self.root) {
            self.refuse(path, "it is a link that leads out of the folder of templates".into(), report);
            return Ok(());
        }
        if truly.is_dir() {
            if is_reserved(name) {
                self.refuse(path, format!("`{name}` is a folder of the program's own"), report);
            } else if self.open.contains(&truly) || truly == self.root {
                self.refuse(path, "it is a link that leads back to a folder it stands in".into(), report);
            } else {
                self.open.push(truly);
                self.folder(path, &format!("{name}/"), report)?;
                self.open.pop();
            }
            return Ok(());
        }
        if let Some((message, hint)) = misnamed(name) {
            report.push(self.problem(path, message).hint(hint));
            return Ok(());
        }
        match read_bounded(&truly) {
            Ok(Some(bytes)) => {
                if name.ends_with(".typ") && std::str::from_utf8(&bytes).is_err() {
                    self.refuse(path, "it is not UTF-8 text".into(), report);
                    return Ok(());
                }
                self.bytes += bytes.len() as u64;
                if self.bytes > LARGEST_FOLDER || self.found.len() >= MOST_FILES {
                    return Err(Full);
                }
                self.found.push((name.to_owned(), bytes, path.to_owned()));
            }
            Ok(None) => self.refuse(path, format!("it is larger than {} MiB", LARGEST_FILE >> 20), report),
            Err(e) => self.refuse(path, format!("cannot read it: {e}"), report),
        }
        Ok(())
    }

    fn problem(&self, path: &Path, message: String) -> Diagnostic {
        let place = Place { file: path.display().to_string(), path: String::new(), spot: None };
        let named = self.origin.place();
        let line = named.spot.map(|s| format!(":{}", s.line)).unwrap_or_default();
        Diagnostic::error("bad-template-file", message)
            .at(place)
            .hint(format!("the folder is named at {}{line}", named.file))
    }

    fn refuse(&self, path: &Path, message: String, report: &mut Diagnostics) {
        let problem = self.problem(path, message);
        report.push(problem);
    }
}

/// A template at the top that is none of ours would never be used: most likely its name is a slip of the hand.
fn misnamed(name: &str) -> Option<(String, String)> {
    if name.contains('/') || !name.ends_with(".typ") {
        return None;
    }
    let known = Template::ALL.map(|t| format!("{}.typ", t.name()));
    if known.iter().any(|k| k == name) {
        return None;
    }
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let hint = match nearest(name, &known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("templates of documents: {}; what they import goes into `parts`", known.join(", ")),
    };
    Some((format!("no document is made of `{name}`"), hint))
}

/// The content, or `None` if it is too large. Only ordinary files are opened: a pipe would wait for ever.
fn read_bounded(path: &Path) -> std::io::Result<Option<Vec<u8>>> {
    match input::read(path, LARGEST_FILE) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(InputError::TooLarge(_)) => Ok(None),
        Err(e) => Err(e.into()),
    }
}
