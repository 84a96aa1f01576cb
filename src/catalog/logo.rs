//! The firm's logo: a drawing or picture that is exactly what it claims to be and looks at nothing outside itself.

use std::collections::HashMap;
use std::io::Cursor;
use std::path::Path;

use usvg::roxmltree::{Document, Node, ParsingOptions};

use crate::input::{self, InputError};

/// The largest logo file, in bytes.
pub const LARGEST_LOGO: u64 = 1 << 20;
/// The largest side of a PNG, in pixels.
pub const LARGEST_SIDE: u32 = 4_000;

/// Elements of a drawing that are ever drawn, copies made by `use` included. A logo has hundreds.
const MOST_ELEMENTS: u64 = 20_000;
/// Elements inside one another.
const DEEPEST: usize = 100;

/// A logo, read and found sound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Logo {
    /// What it is.
    pub form: LogoForm,
    /// The file's bytes.
    pub bytes: Vec<u8>,
}

/// The kinds of file a logo may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogoForm {
    /// A drawing.
    Svg,
    /// A picture.
    Png,
}

impl LogoForm {
    /// The ending of such a file's name.
    pub fn ending(self) -> &'static str {
        match self {
            LogoForm::Svg => "svg",
            LogoForm::Png => "png",
        }
    }
}

/// Reads a logo file; what kind it is, its content says and not its name.
///
/// # Errors
/// What is wrong with it, in the user's words.
pub(super) fn read(file: &Path) -> Result<Logo, String> {
    let cannot = |e: std::io::Error| format!("cannot read the logo: {e}");
    let bytes = input::read(file, LARGEST_LOGO).map_err(|e| match e {
        InputError::System(e) => cannot(e),
        InputError::Folder | InputError::NotOrdinary => "the logo is not an ordinary file".to_owned(),
        InputError::TooLarge(_) => format!("the logo is larger than {} MiB", LARGEST_LOGO >> 20),
    })?;
    let form = if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        check_png(&bytes)?;
        LogoForm::Png
    } else {
        check_svg(&bytes)?;
        LogoForm::Svg
    };
    Ok(Logo { form, bytes })
}

/// Every pixel must be there, since a picture cut short would fail later, on paper.
fn check_png(bytes: &[u8]) -> Result<(), String> {
    let broken = |e: png::DecodingError| format!("the logo is a damaged PNG: {e}");
    let mut reader = png::Decoder::new(Cursor::new(bytes)).read_info().map_err(broken)?;
    let (width, height) = (reader.info().width, reader.info().height);
    if width.max(height) > LARGEST_SIDE {
        return Err(format!(
            "the logo is {width} × {height} pixels; at most {LARGEST_SIDE} a side do"
        ));
    }
    while reader.next_row().map_err(broken)?.is_some() {}
    Ok(())
}

fn check_svg(bytes: &[u8]) -> Result<(), String> {
    let neither = "the logo is neither SVG nor PNG";
    let text = std::str::from_utf8(bytes).map_err(|_| neither.to_owned())?;
    if text.contains("<!ENTITY") {
        return Err("the logo declares entities, which a drawing does not need".into());
    }
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: 200_000,
        ..ParsingOptions::default()
    };
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
    Ok(())
}

/// Nothing that runs, nothing from elsewhere, nothing that swells, nothing that needs a font.
fn look_through(document: &Document<'_>) -> Result<(), String> {
    // walked without recursion, since depth is what is measured
    let mut open = vec![(document.root_element(), 1)];
    while let Some((element, depth)) = open.pop() {
        if depth > DEEPEST {
            return Err(format!("the logo has more than {DEEPEST} elements inside one another"));
        }
        check_element(&element)?;
        open.extend(
            element
                .children()
                .filter(Node::is_element)
                .map(|child| (child, depth + 1)),
        );
    }
    let ids: HashMap<&str, Node<'_, '_>> = document
        .descendants()
        .filter_map(|n| n.attribute("id").map(|id| (id, n)))
        .collect();
    let mut within = Vec::new();
    drawn(document.root_element(), &ids, &mut HashMap::new(), &mut within)?;
    Ok(())
}

fn check_element(element: &Node<'_, '_>) -> Result<(), String> {
    let name = element.tag_name().name();
    match name {
        "script" | "foreignObject" | "handler" => {
            return Err(format!("the logo holds `{name}`, which is no drawing"));
        }
        "text" => return Err("the logo holds text, which depends on a font: turn it into outlines".into()),
        "style" => {
            let style: String = element.children().filter_map(|n| n.text()).collect();
            check_style(&style)?;
        }
        _ => {}
    }
    for attribute in element.attributes() {
        let (key, value) = (attribute.name(), attribute.value().trim());
        if key.len() > 2 && key.get(..2).is_some_and(|start| start.eq_ignore_ascii_case("on")) {
            return Err(format!("the logo holds a script (`{key}`)"));
        }
        let within = value.starts_with('#') || is_picture(value);
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
    ["data:image/png;", "data:image/jpeg;", "data:image/jpg;"]
        .iter()
        .any(|start| value.starts_with(start))
}

fn check_style(style: &str) -> Result<(), String> {
    let lower = style.to_ascii_lowercase();
    let outside = lower
        .split("url(")
        .skip(1)
        .any(|after| !after.trim_start_matches(['"', '\'', ' ']).starts_with('#'));
    if outside || lower.contains("@import") {
        return Err("the logo refers to something outside itself in its style".into());
    }
    Ok(())
}

/// How many elements are drawn for this one, with every copy that `use` makes; an error when that is past counting.
fn drawn<'a, 'i>(
    element: Node<'a, 'i>,
    ids: &HashMap<&str, Node<'a, 'i>>,
    known: &mut HashMap<usize, u64>,
    within: &mut Vec<usize>,
) -> Result<u64, String> {
    let id = element.id().get_usize();
    if let Some(count) = known.get(&id) {
        return Ok(*count);
    }
    // every step goes a level in or along a reference, and each element is on the way once
    if within.contains(&id) || within.len() > 4 * DEEPEST {
        return Err("the logo uses itself inside itself".into());
    }
    within.push(id);
    let mut count = 1;
    for child in element.children().filter(Node::is_element) {
        count += drawn(child, ids, known, within)?;
    }
    if element.tag_name().name() == "use" {
        let href = element
            .attributes()
            .find(|a| a.name() == "href")
            .map(|a| a.value().trim());
        if let Some(target) = href.and_then(|h| ids.get(h.trim_start_matches('#'))) {
            count += drawn(*target, ids, known, within)?;
        }
    }
    within.pop();
    if count > MOST_ELEMENTS {
        return Err(format!("the logo draws more than {MOST_ELEMENTS} elements"));
    }
    known.insert(id, count);
    Ok(count)
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
        for (bytes, told) in [
            (b"GIF89a".as_slice(), "neither SVG nor PNG"),
            (b"\xff\xd8\xff\xe0", "neither SVG nor PNG"),
            (b"", "neither SVG nor PNG"),
            (b"<html/>", "neither SVG nor PNG"),
            (
                b"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1 1\"/>",
                "empty drawing",
            ),
        ] {
            let refusal = check_svg(bytes).expect_err("it is not sound");
            assert!(refusal.contains(told), "{refusal}");
        }
        let cut = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR";
        assert!(check_png(cut).is_err());
    }

    #[test]
    fn scripts_and_what_lies_outside_are_refused() {
        for (inner, told) in [
            ("<script>alert(1)</script>", "`script`"),
            ("<rect width='9' height='9' onload='x()'/>", "`onload`"),
            (
                "<image href='https://logo.example/a.png' width='9' height='9'/>",
                "https://logo.example/a.png",
            ),
            ("<image xlink:href='a.png' width='9' height='9'/>", "`a.png`"),
            (
                "<image href='data:image/svg+xml;base64,AAAA' width='9' height='9'/>",
                "outside itself",
            ),
            ("<use href='other.svg#p'/>", "other.svg#p"),
            (
                "<rect width='9' height='9' fill='url(https://logo.example/g.svg#g)'/>",
                "outside itself",
            ),
            (
                "<style>@import 'x.css';</style><rect width='9' height='9'/>",
                "outside itself",
            ),
            ("<foreignObject/>", "`foreignObject`"),
            ("<text>Tern</text>", "outlines"),
        ] {
            let refusal = svg(inner).expect_err(inner);
            assert!(refusal.contains(told), "{inner}: {refusal}");
        }
        let entities = b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'/>";
        assert!(check_svg(entities).is_err());
    }

    #[test]
    fn what_swells_is_refused_before_it_is_drawn() {
        let doubled: String = (1..40)
            .map(|i| format!("<g id='g{i}'><use href='#g{0}'/><use href='#g{0}'/></g>", i - 1))
            .collect();
        let refusal = svg(&format!("<rect id='g0' width='1' height='1'/>{doubled}")).expect_err("too much");
        assert!(refusal.contains("more than 20000 elements"), "{refusal}");
        let refusal = svg("<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>").expect_err("a ring");
        assert!(refusal.contains("itself"), "{refusal}");
        let deep = format!("{}{}", "<g>".repeat(50_000), "</g>".repeat(50_000));
        assert!(svg(&deep).expect_err("too deep").contains("inside one another"));
    }
}
