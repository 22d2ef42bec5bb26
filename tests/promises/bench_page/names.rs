//! Names that look like markup stay text on every page, whatever their origin.

use crate::support::folder::Folder;
use crate::support::served::{Reply, Served, number, pages, query};

/// A name that is long, and names with every character that has a meaning in a page or in a script.
pub const NAMES: [&str; 9] = [
    "<script>hacked=1</script>",
    "\"><img src=x onerror=hacked=1>",
    "' autofocus onfocus=hacked=1 x='",
    "</textarea></select><svg onload=hacked=1>",
    "</title></style><b>bold</b>",
    "&lt;i&gt; & &amp;",
    "<a href='javascript:hacked=1'>x</a>",
    "{{7*7}}${7*7}<%7*7%>",
    // Eighty letters without a space, wider than a phone.
    "Buchbindermeisterwerkstattprobeheftungsversuchsreihenblockpapiersortenmuster",
];

/// A book in which everything with a name has one of these.
pub fn odd_book() -> Folder {
    let folder = Folder::new();
    let field = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let mut sheet =
        "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,hand,place,\
                     state,spine_mm,fore_edge_mm,note\n"
            .to_owned();
    for (at, name) in NAMES.into_iter().enumerate() {
        let [trial, other] = [field(name), field(NAMES[(at + 1) % NAMES.len()])];
        for (state, spine) in [("sewn", 10.0), ("knocked", 9.5)] {
            let spine = spine + 0.05 * at as f64;
            sheet += &format!(
                "{trial},2026-01-{:02},{other},medium,0.12,{trial},0.5,10,3,{other},{other},{state},\
                 {spine:.2},7.4,{trial}\n",
                at + 1
            );
        }
    }
    folder.write("sheet.csv", sheet);
    folder.run(&["init", ".", "--title", NAMES[4]]).ends(0);
    folder.run(&["import", "sheet.csv"]).ends(0);
    let stock = [format!("--paper={}", NAMES[1]), format!("--thread={}", NAMES[0])];
    let plan = ["predict", &stock[0], &stock[1], "--sections=10", "--sheets=4", "--save", NAMES[0]];
    folder.run(&plan).ends(0);
    folder
}

/// Asserts that no name is in the page unescaped.
#[track_caller]
fn is_text(reply: &Reply, what: &str) {
    for name in NAMES.iter().filter(|name| name.contains(['<', '"', '\''])) {
        assert!(!reply.body.contains(name), "{name} at {what}");
    }
    for part in
        ["<script>", "<img", "<b>bold", "<svg onload", "href='javascript", "onfocus=hacked=1 x='"]
    {
        assert!(!reply.body.contains(part), "{part} at {what}");
    }
}

/// Query fields to try in the address of every page.
const FIELDS: [&str; 28] = [
    "trial",
    "state",
    "places",
    "spine-1",
    "fore-edge-2",
    "sure-spine-1",
    "said",
    "seen",
    "count",
    "paper",
    "thread",
    "caliper",
    "weight",
    "hardness",
    "note",
    "sections",
    "sheets",
    "leaves",
    "target",
    "hand",
    "id",
    "reason",
    "undo",
    "sewing",
    "shown",
    "taken",
    "instead",
    "at",
];

#[test]
fn a_name_in_the_book_is_text_on_every_page() {
    let folder = odd_book();
    let served = Served::open(&folder);
    for page in pages() {
        let reply = served.get(&page);
        // Some pages need query fields.
        assert!(matches!(reply.status, 200 | 404 | 422), "{page}: {}", reply.body);
        // A printed sheet does not belong to a book.
        let is_titled = reply.body.contains("&#60;b&#62;bold") || page == "/guide/print";
        assert!(is_titled, "the title at {page}");
        is_text(&reply, &page);
    }
    for name in NAMES {
        for page in ["/measure", "/measured", "/log", "/trial", "/plan"] {
            let of =
                query(&[("trial", name), ("paper", name), ("thread", name), ("state", "sewn")]);
            is_text(&served.get(&format!("{page}?{of}")), page);
        }
    }
}

#[test]
fn a_name_in_an_address_or_a_form_is_text() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let before = folder.holds();
    let token = served.token();
    for (at, page) in pages().into_iter().enumerate() {
        for name in [NAMES[1], NAMES[2]] {
            let fields = FIELDS.map(|field| (field, name));
            is_text(&served.get(&format!("{page}?{}", query(&fields))), &page);
            // One field at a time, because a page with all of them stops at the first.
            for field in FIELDS {
                is_text(&served.get(&format!("{page}?{}", query(&[(field, name)]))), field);
            }
            // This page takes no name, and would undo what is in the book.
            if page == "/undo" {
                continue;
            }
            // The caliper is invalid, so that nothing is written.
            let wrong = [("token", token.as_str()), ("number", &number(at)), ("date", "x")];
            let body = query(&wrong.into_iter().chain(fields).collect::<Vec<_>>());
            let ask = served.sends(&page, "", &[]).body(body);
            is_text(&served.answer(&ask), &page);
        }
    }
    assert!(folder.holds() == before, "the book has changed");
}

#[test]
fn input_that_no_page_asks_for_is_not_repeated() {
    let folder = Folder::with_trial();
    let served = Served::open(&folder);
    let script = NAMES[0];
    let plain = |ask| served.answer(&ask);
    for reply in [
        plain(served.asks("GET /%3Cscript%3Ehacked=1%3C/script%3E")),
        plain(served.asks("GET /").with("Host", script)),
        plain(served.asks("GET /").with("Cookie", script)),
        plain(served.asks("GET /").with("User-Agent", script).with("Referer", script)),
        plain(
            served.asks("GET /measure").with("Accept-Language", script).with("HX-Request", script),
        ),
        plain(served.asks(&format!("GET /?key={}", query(&[("", script)])))),
        plain(served.sends("/paper", script, &[("paper", script), ("hardness", script)])),
    ] {
        is_text(&reply, "an answer");
        assert!(!reply.body.contains("hacked=1") || reply.status == 422, "{}", reply.body);
    }
}
