//! The jobs of a run: each file with its number, and which of them this run is to make.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::{Maker, Shard};
use crate::digest::sha256;

/// A job file with a number that no other file has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// The job file.
    pub file: PathBuf,
    /// The job's number, which names its folder.
    pub number: String,
    /// What it is, as the manifest names it.
    pub kind: &'static str,
}

/// A job file that has no place: its number cannot be read, or another file has it too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unplaced {
    /// The job file.
    pub file: PathBuf,
    /// Its number, where it has one.
    pub number: Option<String>,
    /// The other file of that number.
    pub other: Option<PathBuf>,
}

impl Unplaced {
    /// What stands in the number's stead to choose a shard by.
    fn name(&self) -> String {
        match &self.number {
            Some(number) => number.clone(),
            None => unread_name(&self.file),
        }
    }
}

/// All jobs that were named, placed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Placed {
    /// Those this shard makes, in the order they were named.
    pub items: Vec<Item>,
    /// Those of this shard that cannot be made.
    pub unplaced: Vec<Unplaced>,
    /// How many were named, in all shards.
    pub of_all_shards: usize,
    /// SHA-256 of the names of them all, whatever their order: shards of one run have the same.
    pub all_digest: String,
}

fn unread_name(file: &Path) -> String {
    format!("file {}", file.file_name().unwrap_or_default().to_string_lossy())
}

/// Reads the number of every file and chooses those of the shard. Two files of one number are both left out, since
/// nobody can tell which of them is meant; numbers that differ in capitals alone count as one, since they are one
/// folder on some file systems.
pub fn place<M: Maker>(files: &[PathBuf], maker: &M, shard: Shard, workers: usize) -> Placed {
    let numbers = numbers(files, maker, workers);
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    let mut twin: BTreeMap<usize, usize> = BTreeMap::new();
    for (i, number) in numbers.iter().enumerate() {
        let Some(number) = number else { continue };
        if let Some(other) = first.get(&number.to_ascii_lowercase()) {
            twin.entry(*other).or_insert(i);
            twin.insert(i, *other);
        } else {
            first.insert(number.to_ascii_lowercase(), i);
        }
    }
    let mut placed = Placed { of_all_shards: files.len(), ..Placed::default() };
    let mut names: Vec<String> = Vec::with_capacity(files.len());
    for (i, (file, number)) in files.iter().zip(numbers).enumerate() {
        let other = twin.get(&i).map(|other| files[*other].clone());
        match (number, other) {
            (Some(number), None) => {
                if shard.holds(&number) {
                    placed.items.push(Item { file: file.clone(), number: number.clone(), kind: maker.kind(file) });
                }
                names.push(number);
            }
            (number, other) => {
                let unplaced = Unplaced { file: file.clone(), number, other };
                names.push(unplaced.name());
                if shard.holds(&unplaced.name()) {
                    placed.unplaced.push(unplaced);
                }
            }
        }
    }
    names.sort_unstable();
    placed.all_digest = sha256(names.join("\n").as_bytes());
    placed
}

fn numbers<M: Maker>(files: &[PathBuf], maker: &M, workers: usize) -> Vec<Option<String>> {
    const AT_ONCE: usize = 64;
    let chunks: Vec<Mutex<Vec<Option<String>>>> = files.chunks(AT_ONCE).map(|_| Mutex::default()).collect();
    let next = AtomicUsize::new(0);
    thread::scope(|scope| {
        for _ in 0..workers.min(chunks.len()) {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let (Some(chunk), Some(place)) = (files.chunks(AT_ONCE).nth(i), chunks.get(i)) else {
                        break;
                    };
                    let read = chunk.iter().map(|file| maker.number(file)).collect();
                    if let Ok(mut place) = place.lock() {
                        *place = read;
                    }
                }
            });
        }
    });
    chunks.into_iter().flat_map(|chunk| chunk.into_inner().unwrap_or_default()).collect()
}
