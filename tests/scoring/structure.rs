//! Whether a page is built as it has to be, read from its text alone.

use std::collections::BTreeSet;

/// Elements that have no end.
const VOID: [&str; 2] = ["meta", "br"];

struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    /// Names of the elements right in it.
    children: Vec<String>,
}

impl Element {
    fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(found, _)| found == name).map(|(_, value)| value.as_str())
    }
}

/// Everything that is wrong with the structure of a page; empty if nothing is.
pub(crate) fn faults(html: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let elements = elements(html, &mut faults);
    let mut must = |holds: bool, what: String| {
        if !holds {
            faults.push(what);
        }
    };
    let count = |name: &str| elements.iter().filter(|element| element.name == name).count();
    must(html.starts_with("<!DOCTYPE html><html lang=\"en\">"), "the page begins with its type and language".into());
    must(html.matches("lang=").count() == 1, "the language is said once".into());
    for name in ["h1", "main", "header", "footer"] {
        must(count(name) == 1, format!("one {name}, found {}", count(name)));
    }
    for banned in ["script", "link", "img", "iframe", "object", "embed"] {
        must(count(banned) == 0, format!("no {banned}"));
    }
    for outside in ["://", "url(", "@import", "javascript:"] {
        must(!html.contains(outside), format!("nothing from outside: {outside}"));
    }
    let mut depth = 0;
    for heading in elements.iter().filter(|element| matches!(element.name.as_str(), "h1" | "h2" | "h3" | "h4")) {
        let level: usize = heading.name[1..].parse().expect("a digit");
        must(level <= depth + 1, format!("{} after a heading of level {depth}", heading.name));
        depth = level;
    }
    let ids: Vec<&str> = elements.iter().filter_map(|element| element.get("id")).collect();
    let distinct: BTreeSet<&str> = ids.iter().copied().collect();
    must(ids.len() == distinct.len(), format!("every id is its element's own: {ids:?}"));
    for element in &elements {
        let named = element.get("aria-labelledby").into_iter().flat_map(str::split_whitespace);
        let linked = element.get("href").and_then(|href| href.strip_prefix('#'));
        for id in named.chain(linked) {
            must(distinct.contains(id), format!("{} names `{id}`, which is nowhere", element.name));
        }
        let holds = |child: &str| element.children.iter().any(|name| name == child);
        match element.name.as_str() {
            "svg" => must(
                element.get("aria-hidden").is_some()
                    || (element.get("role") == Some("img") && holds("title") && holds("desc")),
                "a picture has a title and a description, or is hidden".into(),
            ),
            "table" => {
                must(element.children.first().is_some_and(|first| first == "caption"), "a table has a caption".into());
            }
            "th" => must(element.get("scope").is_some(), "a heading of a table has a scope".into()),
            "section" => must(holds("h2"), "a section has a heading".into()),
            _ => {}
        }
        must(element.get("style").is_none(), format!("{} has a style of its own", element.name));
        must(!element.attributes.iter().any(|(name, _)| name.starts_with("on")), "nothing runs".into());
    }
    faults
}

/// The elements in the order in which they begin.
fn elements(html: &str, faults: &mut Vec<String>) -> Vec<Element> {
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for piece in html.split('<').skip(1) {
        let Some((tag, _)) = piece.split_once('>') else {
            faults.push(format!("a tag without an end: <{piece}"));
            continue;
        };
        if tag.starts_with('!') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            match open.pop() {
                Some(last) if elements[last].name == name => {}
                last => faults.push(format!("</{name}> ends {:?}", last.map(|last| elements[last].name.clone()))),
            }
            continue;
        }
        let element = element(tag);
        if let Some(&parent) = open.last() {
            elements[parent].children.push(element.name.clone());
        }
        if !VOID.contains(&element.name.as_str()) {
            open.push(elements.len());
        }
        elements.push(element);
    }
    for place in open {
        faults.push(format!("<{}> has no end", elements[place].name));
    }
    elements
}

fn element(tag: &str) -> Element {
    let (name, mut rest) = tag.split_once(' ').unwrap_or((tag, ""));
    let mut attributes = Vec::new();
    while let Some((attribute, after)) = rest.split_once("=\"") {
        let (value, after) = after.split_once('"').unwrap_or((after, ""));
        attributes.push((attribute.trim().to_owned(), value.to_owned()));
        rest = after;
    }
    Element { name: name.to_owned(), attributes, children: Vec::new() }
}

#[test]
fn every_fault_of_a_page_is_found() {
    let page = |body: &str| {
        format!(
            "<!DOCTYPE html><html lang=\"en\"><header></header><main><h1>a</h1>{body}</main><footer></footer></html>"
        )
    };
    assert_eq!(faults(&page("")), Vec::<String>::new());
    let table: [(&str, &str); 9] = [
        ("<p>", "</main> ends"),
        ("<h3>a</h3>", "h3 after a heading of level 1"),
        ("<svg></svg>", "a picture has a title"),
        ("<table><tr></tr></table>", "a table has a caption"),
        ("<table><caption></caption><th>a</th></table>", "a heading of a table has a scope"),
        ("<a href=\"#b\">a</a>", "`b`, which is nowhere"),
        ("<p id=\"b\"></p><p id=\"b\"></p>", "every id is its element's own"),
        ("<script></script>", "no script"),
        ("<p lang=\"de\"></p>", "the language is said once"),
    ];
    for (body, fault) in table {
        let found = faults(&page(body));
        assert!(found.iter().any(|found| found.contains(fault)), "{body}: {found:?}");
    }
}
