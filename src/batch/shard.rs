//! Shards: which machine makes which job, without anybody to ask.

use std::fmt;
use std::str::FromStr;

use sha2::{Digest, Sha256};

/// One of so many equal parts of all jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shard {
    part: u32,
    of: u32,
}

/// Parts, at most.
const MOST: u32 = 1_000_000;

impl Shard {
    /// All jobs.
    pub const WHOLE: Shard = Shard { part: 1, of: 1 };

    /// Which part, from 1.
    pub fn part(self) -> u32 {
        self.part
    }

    /// How many parts there are.
    pub fn of(self) -> u32 {
        self.of
    }

    /// Whether this is all there is.
    pub fn is_whole(self) -> bool {
        self.of == 1
    }

    /// Whether a job belongs to this part. Its name alone decides, so that every machine comes to the same answer
    /// whatever else it is given and in whatever order.
    pub fn holds(self, name: &str) -> bool {
        let digest = Sha256::digest(name.as_bytes());
        let hash = digest[..8].iter().fold(0_u64, |sum, byte| sum << 8 | u64::from(*byte));
        hash % u64::from(self.of) == u64::from(self.part - 1)
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
