//! The jobs of a run: each file with its number, and which of them this run is to make.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::panic::resume_unwind;
use std::path::PathBuf;
use std::str::FromStr;
use std::thread;

use sha2::{Digest, Sha256};

use super::Maker;
use crate::digest::sha256;

/// One of so many equal parts of all jobs: which machine makes which job, without anybody to ask.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shard {
    /// Which part, from 1.
    part: u32,
    of: u32,
}

/// Parts, at most.
const MOST: u32 = 1_000_000;

impl Shard {
    /// All jobs.
    pub const WHOLE: Shard = Shard { part: 1, of: 1 };

    pub fn part(self) -> u32 {
        self.part
    }

    pub fn of(self) -> u32 {
        self.of
    }

    /// Whether a job belongs to this part. Its name alone decides, so that every machine comes to the same answer
    /// whatever else it is given and in whatever order.
    pub fn holds(self, name: &str) -> bool {
        let digest = Sha256::digest(name.as_bytes());
        let hash = digest[..8].iter().fold(0_u64, |sum, byte| sum << 8 | u64::from(*byte));
        hash % u64::from(self.of) == u64::from(self.part - 1)
    }

    /// Shards may share a folder: each has a manifest and a summary of its own.
    pub(super) fn file_name(self, stem: &str, ending: &str) -> String {
        match self {
            Shard { of: 1, .. } => format!("{stem}.{ending}"),
            Shard { part, of } => format!("{stem}-{part}-of-{of}.{ending}"),
        }
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.part, self.of)
    }
}

impl FromStr for Shard {
    type Err = String;

    /// `2/8` is the second of eight.
    fn from_str(text: &str) -> Result<Shard, String> {
        let read = || {
            let (part, of) = text.split_once('/')?;
            let (part, of) = (part.parse().ok()?, of.parse().ok()?);
            ((1..=MOST).contains(&of) && (1..=of).contains(&part)).then_some(Shard { part, of })
        };
        read().ok_or_else(|| format!("`{text}` is not a part of a whole, such as `2/8`: the second of eight"))
    }
}

/// A job file with a number that no other file has.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub file: PathBuf,
    /// The job's number, which names its folder.
    pub number: String,
    /// What it is, as the manifest names it.
    pub kind: &'static str,
    /// Where it comes from.
    pub origin: Option<String>,
}

/// A job file that has no place: its number cannot be read, or another file has it too.
#[derive(Clone, Debug)]
pub(super) struct Unplaced {
    pub file: PathBuf,
    pub number: Option<String>,
    /// The other file of that number.
    pub other: Option<PathBuf>,
}

impl Unplaced {
    /// What a shard is chosen by.
    fn name(&self) -> String {
        let file = || format!("file {}", self.file.file_name().unwrap_or_default().to_string_lossy());
        self.number.clone().unwrap_or_else(file)
    }
}

/// All jobs that were named, placed.
#[derive(Clone, Debug, Default)]
pub(super) struct Placed {
    /// Those this shard makes, in the order they were named.
    pub items: Vec<Item>,
    /// Those of this shard that cannot be made.
    pub unplaced: Vec<Unplaced>,
    /// Where they come from, in all shards.
    pub origins: BTreeSet<Option<String>>,
    /// How many were named, in all shards.
    pub of_all_shards: usize,
    /// SHA-256 of the names of them all, whatever their order: shards of one run have the same.
    pub all_digest: String,
}

/// Reads the number of every file and chooses those of the shard. Two files of one number are both left out, since
/// nobody can tell which of them is meant; numbers that differ in capitals alone count as one, since they are one
/// folder on some file systems.
pub(super) fn place<M: Maker>(files: &[PathBuf], maker: &M, shard: Shard, workers: usize) -> Placed {
    let numbers = numbers(files, maker, workers);
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    let mut twin: BTreeMap<usize, usize> = BTreeMap::new();
    for (i, number) in numbers.iter().enumerate() {
        let Some(number) = number else { continue };
        let other = *first.entry(number.to_ascii_lowercase()).or_insert(i);
        if other != i {
            twin.entry(other).or_insert(i);
            twin.insert(i, other);
        }
    }
    let origins = files.iter().map(|file| maker.origin(file)).collect();
    let mut placed = Placed { origins, of_all_shards: files.len(), ..Placed::default() };
    let mut names: Vec<String> = Vec::with_capacity(files.len());
    for (i, (file, number)) in files.iter().cloned().zip(numbers).enumerate() {
        let other = twin.get(&i).map(|other| files[*other].clone());
        match (number, other) {
            (Some(number), None) => {
                names.push(number.clone());
                if shard.holds(&number) {
                    let (kind, origin) = (maker.kind(&file), maker.origin(&file));
                    placed.items.push(Item { file, number, kind, origin });
                }
            }
            (number, other) => {
                let unplaced = Unplaced { file, number, other };
                let name = unplaced.name();
                if shard.holds(&name) {
                    placed.unplaced.push(unplaced);
                }
                names.push(name);
            }
        }
    }
    names.sort_unstable();
    placed.all_digest = sha256(names.join("\n").as_bytes());
    placed
}

fn numbers<M: Maker>(files: &[PathBuf], maker: &M, workers: usize) -> Vec<Option<String>> {
    let share = files.len().div_ceil(workers.max(1)).max(1);
    let read = |files: &[PathBuf]| files.iter().map(|file| maker.number(file)).collect::<Vec<_>>();
    thread::scope(|scope| {
        let readers: Vec<_> = files.chunks(share).map(|files| scope.spawn(move || read(files))).collect();
        let numbers = readers.into_iter().map(|reader| reader.join().unwrap_or_else(|panic| resume_unwind(panic)));
        numbers.flatten().collect()
    })
}
