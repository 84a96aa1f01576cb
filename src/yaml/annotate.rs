//! Comments for a file that is given to users to begin with: what each key means, as its declaration says it.

use std::collections::BTreeSet;

use super::shape::wrap;
use super::{Group, Key, Shape};

/// Longest line of a comment, with its indentation.
const WIDTH: usize = 100;

/// Block YAML of ours with a comment over each key where it stands for the first time. A key that a line within brackets holds has none.
pub(crate) fn annotated(text: &str, shape: &Shape) -> String {
    let mut out = String::new();
    // columns of a table are all declared in the same words
    let mut said: BTreeSet<(&str, &str)> = BTreeSet::new();
    // the keys that the line lies under: how far each is indented, and what may stand in it
    let mut above: Vec<(usize, &Shape)> = Vec::new();
    for line in text.lines() {
        if let Some((indent, key)) = key_of(line) {
            above.retain(|(of, _)| *of < indent);
            let holder = above.last().map_or(shape, |(_, shape)| *shape);
            if let Some((declared, inner)) = find(holder, key) {
                if let Some((group, key)) = declared
                    && said.insert((group.name, key.about))
                {
                    let margin = line.len() - line.trim_start().len();
                    out += &comment(key, margin);
                }
                above.push((indent, inner));
            }
        }
        out += line;
        out.push('\n');
    }
    out
}

/// Where the key of a line stands, an item's behind its dash, and the key; `None` for a comment or a line without one.
fn key_of(line: &str) -> Option<(usize, &str)> {
    let rest = line.trim_start().trim_start_matches("- ");
    let (key, _) = rest.split_once(':').filter(|_| !rest.starts_with('#'))?;
    Some((line.len() - rest.len(), key.trim_matches('"')))
}

/// What a key of a shape is declared as, where it is not of the user's choice, and what may stand in it.
fn find<'s>(shape: &'s Shape, key: &str) -> Option<(Option<(&'s Group, &'s Key)>, &'s Shape)> {
    match shape {
        Shape::Group(group) => {
            let found = group.keys.iter().find(|known| known.name == key)?;
            Some((Some((group, found)), &found.shape))
        }
        Shape::List { of, .. } => find(of, key),
        Shape::ByKey { of, .. } => Some((None, of)),
        Shape::Either(shapes) => shapes.iter().find_map(|shape| find(shape, key)),
        _ => None,
    }
}

fn comment(key: &Key, margin: usize) -> String {
    let (about, _) = key.about();
    let notes = key.shape.notes().into_iter();
    let words = match &key.shape {
        Shape::Words(words) => {
            format!("One of: {}.", words.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", "))
        }
        _ => notes.collect::<Vec<_>>().join(" "),
    };
    let mut lines = String::new();
    wrap(&mut lines, WIDTH - margin - 2, 0, format!("{about} {words}").trim());
    lines.lines().map(|line| format!("{:margin$}# {line}\n", "")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::{Declared, keys, list_of};

    keys! {
        /// A file.
        #[allow(dead_code)]
        struct File {
            /// Its name. Example: `a`
            name: String, required;
            /// Its parts.
            parts: Vec<Part> = list_of::<Part>(), optional;
        }
    }

    keys! {
        /// A part.
        #[allow(dead_code)]
        struct Part {
            /// How it is called.
            name: String, required;
        }
    }

    #[test]
    fn a_key_is_explained_once_where_it_stands() {
        let text = "# head: no key\nname: \"parts: none\"\nparts:\n  - name: a\n  - name: b\nname: again\n";
        let expected = "# head: no key\n# Its name.\nname: \"parts: none\"\n# Its parts.\nparts:\n  # How it is called.\n  - name: a\n  - name: b\nname: again\n";
        assert_eq!(annotated(text, &File::shape()), expected);
    }
}
