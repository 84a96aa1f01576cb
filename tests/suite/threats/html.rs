//! HTML in a name: text on every page.

use super::super::page::{parsed, stands_alone, words};
use super::page_of;
use crate::support::workspace::{Copy, read};

#[test]
fn html_in_a_name_is_text_on_the_page() {
    let hostile = r#"<img src=x onerror=alert(1)> "'&amp; </title><script>alert(2)</script> {{ 7*7 }} {% raw %}"#;
    let copy = Copy::of("ferry-terminal");
    let yaml = hostile.replace('\'', "''");
    copy.change_job("  name: Gull Point Ferry Terminal", &format!("  name: '{yaml}'"));
    copy.change_company("  name: Tern & Tide Hygiene", &format!("  name: '{yaml}'"));
    copy.change_company("    name: Solvary Q-75", &format!("    name: '{yaml}'"));
    let text = page_of(&copy);
    let html = parsed(&text);
    stands_alone(&text, &html);
    let said = words(&html);
    assert!(said.matches(hostile).count() >= 4, "{said}");
    let index = read(copy.output().join("index.html"));
    let html = parsed(&index);
    stands_alone(&index, &html);
    assert!(words(&html).contains(hostile));
}
