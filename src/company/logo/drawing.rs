//! Drawings: nothing that runs, nothing from elsewhere, nothing that needs a font, nothing that takes long to draw.
//!
//! What a drawing costs is counted before any library that draws sees it, since parts that use parts that use parts cost more with
//! every level. The bounds are no published figures; a firm's logo stays far below each of them.

use std::collections::{HashMap, HashSet};

use usvg::roxmltree::{Document, Node, ParsingOptions};

use super::picture;

/// Elements of a drawing, those that are never drawn included. A logo has hundreds.
const MOST_ELEMENTS: usize = 20_000;
/// Elements inside one another.
const DEEPEST: usize = 100;
/// What is drawn in all, copies included: an element counts one, and one more for every 64 bytes of its attributes.
const MOST_DRAWN: u64 = 40_000;
/// Attributes of one element; a parser compares each with all before it.
const MOST_ATTRIBUTES: usize = 200;
/// Declarations of name spaces; each is looked through for every name.
const MOST_NAMESPACES: usize = 100;
/// Colors of one gradient.
const MOST_STOPS: usize = 100;
/// Gradients that take over from one another.
const MOST_HREFS: usize = 10;
/// Rules of the style times elements: each rule is compared with each element.
const MOST_STYLE: usize = 1_000_000;
/// Pictures within a drawing, copies included.
const MOST_PICTURES: usize = 10;

pub(super) fn check_svg(bytes: &[u8]) -> Result<(), String> {
    let neither = "the logo is neither SVG nor PNG";
    let text = std::str::from_utf8(bytes).map_err(|_| neither.to_owned())?;
    if text.contains("<!ENTITY") {
        return Err("the logo declares entities, which a drawing does not need".into());
    }
    check_tags(text)?;
    let options = ParsingOptions { allow_dtd: true, nodes_limit: 200_000, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|e| format!("{neither}: {e}"))?;
    if document.root_element().tag_name().name() != "svg" {
        return Err(neither.into());
    }
    look_through(&document)?;
    let tree = usvg::Tree::from_xmltree(&document, &usvg::Options::default())
        .map_err(|e| format!("the logo cannot be drawn: {e}"))?;
    if !tree.root().has_children() {
        return Err("the logo is an empty drawing".into());
    }
    check_pictures(tree.root(), &mut 0)
}

/// What would keep the parser busy, counted in the text before it is parsed. A tag in a remark or a style counts as one too.
fn check_tags(text: &str) -> Result<(), String> {
    if text.matches("xmlns").count() > MOST_NAMESPACES {
        return Err(format!("the logo declares more than {MOST_NAMESPACES} name spaces"));
    }
    let most = text.split('<').map(|tag| {
        let tag = tag.split('>').next().unwrap_or(tag);
        tag.bytes().filter(|b| *b == b'=').count()
    });
    if most.max().unwrap_or(0) > MOST_ATTRIBUTES {
        return Err(format!("an element of the logo has more than {MOST_ATTRIBUTES} attributes"));
    }
    Ok(())
}

/// Pictures within the drawing are looked at as a picture by itself is.
fn check_pictures(group: &usvg::Group, seen: &mut usize) -> Result<(), String> {
    for node in group.children() {
        if let usvg::Node::Group(inner) = node {
            check_pictures(inner, seen)?;
        }
        let mut found = Ok(());
        node.subroots(|inner| {
            if found.is_ok() {
                found = check_pictures(inner, seen);
            }
        });
        found?;
        let usvg::Node::Image(image) = node else { continue };
        *seen += 1;
        if *seen > MOST_PICTURES {
            return Err(format!("the logo holds more than {MOST_PICTURES} pictures"));
        }
        match image.kind() {
            usvg::ImageKind::PNG(bytes) => picture::check_png(bytes)?,
            usvg::ImageKind::JPEG(bytes) => picture::check_jpeg(bytes)?,
            _ => return Err("the logo holds a picture that is neither PNG nor JPEG".into()),
        }
    }
    Ok(())
}

/// Nothing that runs, nothing from elsewhere, nothing that swells, nothing that needs a font.
fn look_through(document: &Document<'_>) -> Result<(), String> {
    // walked without recursion, since depth is what is measured
    let mut open = vec![(document.root_element(), 1)];
    let mut elements = 0;
    let mut style = String::new();
    while let Some((element, depth)) = open.pop() {
        elements += 1;
        if elements > MOST_ELEMENTS {
            return Err(format!("the logo has more than {MOST_ELEMENTS} elements"));
        }
        if depth > DEEPEST {
            return Err(format!("the logo has more than {DEEPEST} elements inside one another"));
        }
        check_element(&element)?;
        if element.tag_name().name() == "style" {
            style.extend(element.children().filter_map(|n| n.text()));
        }
        open.extend(element.children().filter(Node::is_element).map(|child| (child, depth + 1)));
    }
    check_style(&style)?;
    if style.matches(['{', ',']).count().saturating_mul(elements) > MOST_STYLE {
        return Err("the logo has a style of more rules than it needs".into());
    }
    let mut count = Count {
        ids: document.descendants().filter_map(|n| n.attribute("id").map(|id| (id, n))).collect(),
        classes: classes(&style)?,
        known: HashMap::new(),
        within: HashSet::new(),
    };
    count.gradients(document)?;
    count.drawn(document.root_element())?;
    Ok(())
}

fn check_element(element: &Node<'_, '_>) -> Result<(), String> {
    let name = element.tag_name().name();
    match name {
        "script" | "foreignObject" | "handler" => {
            return Err(format!("the logo holds `{name}`, which is no drawing"));
        }
        "text" => return Err("the logo holds text, which depends on a font: turn it into outlines".into()),
        // each multiplies what it is applied to, or is worked out pixel by pixel
        "filter" | "pattern" | "marker" => {
            return Err(format!(
                "the logo holds a `{name}`: turn it into plain shapes (in most drawing programs: expand or flatten)"
            ));
        }
        _ => {}
    }
    for attribute in element.attributes() {
        let (key, value) = (attribute.name(), attribute.value().trim());
        if key.len() > 2 && key.get(..2).is_some_and(|start| start.eq_ignore_ascii_case("on")) {
            return Err(format!("the logo holds a script (`{key}`)"));
        }
        let within = (value.starts_with('#') && name != "image") || is_picture(value);
        // a hyperlink draws nothing
        if matches!(key, "href" | "src") && !within && name != "a" {
            return Err(format!(
                "the logo refers to something outside itself: `{}`",
                value.chars().take(60).collect::<String>()
            ));
        }
        check_style(value)?;
    }
    Ok(())
}

/// A picture carried in the file itself. Not a second SVG, which could hold all that is refused here.
fn is_picture(value: &str) -> bool {
    ["data:image/png;", "data:image/jpeg;", "data:image/jpg;"].iter().any(|start| value.starts_with(start))
}

fn check_style(style: &str) -> Result<(), String> {
    let lower = style.to_ascii_lowercase();
    let outside = lower.split("url(").skip(1).any(|after| !after.trim_start_matches(['"', '\'', ' ']).starts_with('#'));
    if outside || lower.contains("@import") {
        return Err("the logo refers to something outside itself in its style".into());
    }
    Ok(())
}

/// The ids that a text refers to by `url(#id)`.
fn referred(text: &str) -> impl Iterator<Item = &str> {
    text.split("url(").skip(1).filter_map(|after| {
        let after = after.trim_start_matches(['"', '\'', ' ']).strip_prefix('#')?;
        after.split(['"', '\'', ' ', ')']).next()
    })
}

/// What the classes of a style refer to. Anything but a plain class that refers to something could mean any element, so that
/// what is drawn could not be counted.
fn classes(style: &str) -> Result<HashMap<&str, Vec<&str>>, String> {
    let mut classes: HashMap<&str, Vec<&str>> = HashMap::new();
    if !style.contains("url(") {
        return Ok(classes);
    }
    for rule in style.split('}') {
        let (selectors, body) = rule.split_once('{').unwrap_or((rule, ""));
        let ids: Vec<&str> = referred(body).collect();
        if ids.is_empty() && !selectors.contains("url(") {
            continue;
        }
        for selector in selectors.split(',') {
            let class = selector
                .trim()
                .strip_prefix('.')
                .filter(|name| !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_')));
            let Some(class) = class else {
                return Err(
                    "the style of the logo refers to a part of it for more than a class: put it at the element".into(),
                );
            };
            classes.entry(class).or_default().extend(&ids);
        }
    }
    Ok(classes)
}

struct Count<'a, 'i, 's> {
    ids: HashMap<&'a str, Node<'a, 'i>>,
    /// What a class of the style refers to.
    classes: HashMap<&'s str, Vec<&'s str>>,
    known: HashMap<usize, u64>,
    /// The elements that are being counted.
    within: HashSet<usize>,
}

impl<'a, 'i> Count<'a, 'i, '_> {
    /// How much is drawn for this element, with every copy that `use` makes and everything that clips or masks it; an error when that
    /// is past counting.
    fn drawn(&mut self, element: Node<'a, 'i>) -> Result<u64, String> {
        let id = element.id().get_usize();
        if let Some(count) = self.known.get(&id) {
            return Ok(*count);
        }
        // every step goes a level in or along a reference, and each element is on the way once
        if self.within.contains(&id) || self.within.len() > 4 * DEEPEST {
            return Err("the logo uses itself inside itself".into());
        }
        self.within.insert(id);
        let written: usize = element.attributes().map(|a| a.value().len()).sum();
        let mut count = 1 + written as u64 / 64;
        for target in self.targets(element) {
            count = self.add(count, target)?;
        }
        for child in element.children().filter(Node::is_element) {
            count = self.add(count, child)?;
        }
        self.within.remove(&id);
        self.known.insert(id, count);
        Ok(count)
    }

    fn add(&mut self, count: u64, element: Node<'a, 'i>) -> Result<u64, String> {
        let sum = count + self.drawn(element)?;
        if sum > MOST_DRAWN {
            return Err(format!("the logo draws more than {MOST_DRAWN} elements, or as many bytes of them"));
        }
        Ok(sum)
    }

    /// What is drawn once more for an element: what it uses, and what clips or masks it. Gradients are made once.
    fn targets(&self, element: Node<'a, 'i>) -> Vec<Node<'a, 'i>> {
        let mut ids: Vec<&str> = Vec::new();
        for attribute in element.attributes() {
            match attribute.name() {
                "href" if element.tag_name().name() == "use" => {
                    ids.push(attribute.value().trim().trim_start_matches('#'))
                }
                "class" => {
                    let classes = attribute.value().split_whitespace();
                    ids.extend(classes.filter_map(|class| self.classes.get(class)).flatten());
                }
                _ => ids.extend(referred(attribute.value())),
            }
        }
        let is_drawn = |node: &Node<'a, 'i>| !node.tag_name().name().ends_with("Gradient");
        ids.into_iter().filter_map(|id| self.ids.get(id).copied()).filter(is_drawn).collect()
    }

    /// Gradients have few colors, and take over from few others.
    fn gradients(&self, document: &Document<'_>) -> Result<(), String> {
        for gradient in document.descendants().filter(|n| n.tag_name().name().ends_with("Gradient")) {
            if gradient.children().filter(Node::is_element).count() > MOST_STOPS {
                return Err(format!("a gradient of the logo has more than {MOST_STOPS} colors"));
            }
            let href = |node: Node<'_, '_>| {
                let href = node.attributes().find(|a| a.name() == "href");
                href.map(|a| a.value().trim().trim_start_matches('#').to_owned())
            };
            let mut next = href(gradient);
            for _ in 0..MOST_HREFS {
                next = next.and_then(|id| href(*self.ids.get(id.as_str())?));
            }
            if next.is_some() {
                return Err(format!("more than {MOST_HREFS} gradients of the logo take over from one another"));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn svg(inner: &str) -> Result<(), String> {
        let head = r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 40 10">"#;
        check_svg(format!("{head}{inner}</svg>").as_bytes())
    }

    #[test]
    fn a_drawing_with_its_own_parts_is_sound() {
        let inner = r##"<defs><linearGradient id="g"><stop offset="0"/></linearGradient><path id="p" d="M0 0h9v9z"/></defs>
            <style>.a { fill: url(#g) }</style><use href="#p" class="a"/><use xlink:href="#p" x="20" fill="url( '#g' )"/>"##;
        assert_eq!(svg(inner), Ok(()));
    }

    #[test]
    fn what_is_no_drawing_is_refused() {
        for (bytes, reported) in [
            (b"GIF89a".as_slice(), "neither SVG nor PNG"),
            (b"\xff\xd8\xff\xe0", "neither SVG nor PNG"),
            (b"", "neither SVG nor PNG"),
            (b"<html/>", "neither SVG nor PNG"),
            (b"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1 1\"/>", "empty drawing"),
        ] {
            let refusal = check_svg(bytes).expect_err("it is not sound");
            assert!(refusal.contains(reported), "{refusal}");
        }
        let cut = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR";
        assert!(picture::check_png(cut).is_err());
    }

    #[test]
    fn scripts_and_what_lies_outside_are_refused() {
        for (inner, reported) in [
            ("<script>alert(1)</script>", "`script`"),
            ("<rect width='9' height='9' onload='x()'/>", "`onload`"),
            ("<image href='https://logo.example/a.png' width='9' height='9'/>", "https://logo.example/a.png"),
            ("<image xlink:href='a.png' width='9' height='9'/>", "`a.png`"),
            ("<image href='data:image/svg+xml;base64,AAAA' width='9' height='9'/>", "outside itself"),
            ("<use href='other.svg#p'/>", "other.svg#p"),
            ("<rect width='9' height='9' fill='url(https://logo.example/g.svg#g)'/>", "outside itself"),
            ("<style>@import 'x.css';</style><rect width='9' height='9'/>", "outside itself"),
            ("<foreignObject/>", "`foreignObject`"),
            ("<text>Tern</text>", "outlines"),
        ] {
            let refusal = svg(inner).expect_err(inner);
            assert!(refusal.contains(reported), "{inner}: {refusal}");
        }
        let entities = b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'/>";
        assert!(check_svg(entities).is_err());
    }

    #[test]
    fn what_swells_is_refused_before_it_is_drawn() {
        let doubled: String =
            (1..40).map(|i| format!("<g id='g{i}'><use href='#g{0}'/><use href='#g{0}'/></g>", i - 1)).collect();
        let refusal = svg(&format!("<rect id='g0' width='1' height='1'/>{doubled}")).expect_err("too much");
        assert!(refusal.contains("draws more than 40000 elements"), "{refusal}");
        let refusal = svg("<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>").expect_err("a ring");
        assert!(refusal.contains("itself"), "{refusal}");
        let deep = format!("{}{}", "<g>".repeat(50_000), "</g>".repeat(50_000));
        assert!(svg(&deep).expect_err("too deep").contains("inside one another"));
    }
}
