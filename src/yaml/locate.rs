//! Lines and columns of values, found by a second pass over the text: only when there is something to report.

use std::collections::HashMap;

use saphyr_parser::{Event, Parser};

use super::path::ValuePath;

/// Where each value of a text begins, and how each scalar is written.
#[derive(Debug, Default)]
pub(super) struct Index {
    spots: HashMap<ValuePath, (usize, usize)>,
    keys: HashMap<ValuePath, (usize, usize)>,
    scalars: HashMap<ValuePath, String>,
    /// The first key that stands twice in one group.
    twice: Option<Twice>,
}

/// A key's path, and where it stands first and again.
type Twice = (ValuePath, (usize, usize), (usize, usize));

enum Open {
    Sequence { path: ValuePath, next: usize },
    Mapping { path: ValuePath, key: Option<String> },
}

impl Index {
    /// Walks the text once. Text that the parser refuses ends the index early; what was found stays.
    pub(super) fn of(text: &str) -> Index {
        let mut index = Index::default();
        let mut open: Vec<Open> = Vec::new();
        for event in Parser::new_from_str(text) {
            let Ok((event, span)) = event else { break };
            let at = (span.start.line(), span.start.col() + 1);
            match event {
                Event::Scalar(written, ..) => {
                    if let Some(Open::Mapping { path, key: key @ None }) = open.last_mut() {
                        let of_key = path.key(&written);
                        let first = *index.keys.entry(of_key.clone()).or_insert(at);
                        if first != at && index.twice.is_none() {
                            index.twice = Some((of_key, first, at));
                        }
                        *key = Some(written.into_owned());
                        continue;
                    }
                    let path = next_path(&mut open);
                    index.scalars.insert(path.clone(), written.into_owned());
                    index.spots.entry(path).or_insert(at);
                }
                Event::Alias(_) => {
                    if let Some(Open::Mapping { key: key @ None, .. }) = open.last_mut() {
                        *key = Some(String::new());
                        continue;
                    }
                    let path = next_path(&mut open);
                    index.spots.entry(path).or_insert(at);
                }
                Event::SequenceStart(..) => {
                    let path = next_path(&mut open);
                    index.spots.entry(path.clone()).or_insert(at);
                    open.push(Open::Sequence { path, next: 0 });
                }
                Event::MappingStart(..) => {
                    let path = next_path(&mut open);
                    index.spots.entry(path.clone()).or_insert(at);
                    open.push(Open::Mapping { path, key: None });
                }
                Event::SequenceEnd | Event::MappingEnd => {
                    open.pop();
                }
                _ => {}
            }
        }
        index
    }

    /// Line and column of a value, or of the nearest one around it that is in the text.
    pub(super) fn spot(&self, path: &ValuePath) -> Option<(usize, usize)> {
        let mut path = path.clone();
        loop {
            if let Some(spot) = self.spots.get(&path) {
                return Some(*spot);
            }
            path = path.parent()?;
        }
    }

    /// Line and column of the key under which a value stands, else of the value.
    pub(super) fn key_spot(&self, path: &ValuePath) -> Option<(usize, usize)> {
        self.keys.get(path).copied().or_else(|| self.spot(path))
    }

    /// The first key that stands twice in one group.
    pub(super) fn twice(self) -> Option<Twice> {
        self.twice
    }

    /// A scalar as it is written.
    pub(super) fn scalar(&self, path: &ValuePath) -> Option<&str> {
        self.scalars.get(path).map(String::as_str)
    }
}

/// The path of the value that begins now; moves the parent on to its next.
fn next_path(open: &mut [Open]) -> ValuePath {
    match open.last_mut() {
        None => ValuePath::root(),
        Some(Open::Sequence { path, next }) => {
            let this = path.index(*next);
            *next += 1;
            this
        }
        Some(Open::Mapping { path, key }) => path.key(&key.take().unwrap_or_default()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_where_they_stand() {
        let text = "job: 007\nareas:\n  hall: { floor: 4 ft x 5 ft }\ntreatments:\n  - product: q\n  - {product: r}\n";
        let index = Index::of(text);
        let root = ValuePath::root();
        assert_eq!(index.spot(&root.key("areas").key("hall").key("floor")), Some((3, 18)));
        assert_eq!(index.spot(&root.key("treatments").index(1).key("product")), Some((6, 15)));
        assert_eq!(index.scalar(&root.key("job")), Some("007"));
        // A key that is not there points at the mapping it is missing from.
        assert_eq!(index.spot(&root.key("treatments").index(0).key("sprayer")), Some((5, 5)));
    }
}
