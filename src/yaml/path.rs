//! The path of a value inside a file.

use std::fmt;

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Step {
    Key(String),
    /// Into a sequence, by position from 0.
    Index(usize),
}

/// From the top of a file to a value: `treatments[1].product`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct ValuePath(Vec<Step>);

impl ValuePath {
    pub fn root() -> Self {
        ValuePath::default()
    }

    pub fn key(&self, key: &str) -> Self {
        self.with(Step::Key(key.to_owned()))
    }

    pub fn index(&self, index: usize) -> Self {
        self.with(Step::Index(index))
    }

    pub fn steps(&self) -> &[Step] {
        &self.0
    }

    /// The key that the last step goes into.
    pub fn last_key(&self) -> Option<&str> {
        match self.0.last()? {
            Step::Key(key) => Some(key),
            Step::Index(_) => None,
        }
    }

    /// Without its last step.
    pub fn parent(&self) -> Option<Self> {
        let (_, rest) = self.0.split_last()?;
        Some(ValuePath(rest.to_vec()))
    }

    fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        ValuePath(steps)
    }
}

impl fmt::Display for ValuePath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(key) if i == 0 => write!(f, "{key}")?,
                Step::Key(key) => write!(f, ".{key}")?,
                Step::Index(index) => write!(f, "[{index}]")?,
            }
        }
        Ok(())
    }
}
