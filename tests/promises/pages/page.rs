//! Pages as a browser shows them. Without a browser the tests say that they were not run; with `CI`
//! set they fail.

use crate::support::browser::{Browser, Window};
use crate::support::browsers::Lent;
use crate::support::folder::Folder;
use crate::support::pages_of_books as made;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::sync::OnceLock;

/// The widths of a phone, a tablet and a desk, in pixels.
const WIDTHS: [u32; 3] = [390, 820, 1200];
const CHECKS: &str = include_str!("page_checks.js");
/// Sheets by their names in a style sheet, with their sizes in points. Source: CSS Paged Media
/// Module Level 3, "page-size".
const SHEETS: [(&str, [f64; 2]); 2] = [("A4", [595.28, 841.89]), ("letter", [612.0, 792.0])];
/// How far a browser may round these sizes, in points.
const ROUNDING: f64 = 0.5;

/// A browser at a desk.
fn browser() -> Option<Lent> {
    Lent::open(Window { width: 1300, height: 900, touched: false, script: true })
}

fn open(browser: &Browser, dir: &Folder, page: &str) {
    browser.go(&format!("file://{}/{page}", dir.path().display()));
}

/// A browser's report on several pages.
struct Look {
    /// What the checks found, for each page and width.
    found: Vec<Value>,
    /// What the console complained of.
    console: Vec<String>,
}

/// A page without its policy, which would block the scripts of a test.
fn unguarded(html: &str) -> String {
    let kept = |line: &&str| !line.contains("Content-Security-Policy");
    html.lines().filter(kept).collect::<Vec<_>>().join("\n")
}

/// Shows pages with the checks at their ends, each in a frame of each width.
fn look(browser: &Browser, pages: &[(&str, String)]) -> Look {
    let dir = Folder::new();
    let mut frames = String::new();
    for (name, html) in pages {
        let checked =
            unguarded(html).replace("</body>", &format!("<script>{CHECKS}</script></body>"));
        dir.write(&format!("{name}.html"), checked);
        frames.extend(WIDTHS.map(|width| {
            format!(
                "<iframe name='{name} {width}' src='{name}.html' width='{width}' height='900'>\
                 </iframe>"
            )
        }));
    }
    let listener = "addEventListener('message', e => { found.textContent += e.data + '\\n'; });";
    dir.write(
        "frames.html",
        format!("<!DOCTYPE html><pre id=found></pre><script>{listener}</script>{frames}"),
    );
    open(browser, &dir, "frames.html");
    let lines = "document.getElementById('found').textContent.split('\\n').length";
    browser.until(&format!("{lines} > {}", pages.len() * WIDTHS.len()));
    let found = browser.value("document.getElementById('found').textContent");
    let lines = found.as_str().unwrap_or_default().lines();
    Look {
        found: lines.map(|line| serde_json::from_str(line).expect("JSON")).collect(),
        console: browser.console(),
    }
}

/// Every page, checked once for all the tests; `None` without a browser.
fn seen() -> Option<&'static Look> {
    static SEEN: OnceLock<Option<Look>> = OnceLock::new();
    SEEN.get_or_init(|| browser().map(|browser| look(&browser, made::all()))).as_ref()
}

/// Asserts that a page has no fault at any width, and that it shows this many pictures.
#[track_caller]
fn sound(page: &str, pictures: u64) {
    sound_of(page, pictures, 20);
}

/// As [`sound`], for a page with more than `texts` texts.
#[track_caller]
fn sound_of(page: &str, pictures: u64, texts: u64) {
    let Some(look) = seen() else { return };
    sound_in(look, page, pictures, texts);
}

#[track_caller]
fn sound_in(look: &Look, page: &str, pictures: u64, texts: u64) {
    let complaints: Vec<&String> =
        look.console.iter().filter(|line| line.contains(&format!("{page}.html"))).collect();
    assert!(complaints.is_empty(), "{complaints:?}");
    for width in WIDTHS {
        let name = json!(format!("{page} {width}"));
        let at = look.found.iter().find(|at| at["page"] == name).expect("a page that was seen");
        assert_eq!(at["wrong"], json!([]), "{name}");
        assert!(at["words"].as_u64() > Some(texts), "{at}");
        // On a desk, a long chart is in pieces.
        let seen = at["pictures"].as_u64().expect("a count");
        assert!(seen == pictures || (width > WIDTHS[0] && seen > pictures), "{at}");
    }
}

#[test]
fn the_report_of_the_demonstration_is_sound() {
    sound("demonstration", 4);
}

#[test]
fn the_report_of_an_empty_book_is_sound() {
    sound_of("empty", 0, 4);
}

#[test]
fn the_report_of_one_trial_is_sound() {
    sound("one-trial", 2);
}

#[test]
fn the_report_of_sixty_papers_with_long_names_is_sound() {
    sound("sixty-papers", 4);
}

#[test]
fn the_report_of_names_that_look_like_markup_is_sound() {
    sound("markup", 4);
}

#[test]
fn bench_cards_are_sound() {
    sound("card", 2);
    sound("mixed-card", 2);
    sound("all-along-card", 2);
}

#[test]
fn paper_for_the_bench_is_sound() {
    let Some(browser) = browser() else { return };
    let look = look(&browser, made::papers());
    for (page, _) in made::papers() {
        let pictures = if page.starts_with("guide") { 9 } else { 2 };
        sound_in(&look, page, pictures, 20);
    }
}

#[test]
fn nothing_complained_anywhere() {
    let Some(look) = seen() else { return };
    assert!(look.console.is_empty(), "{:?}", look.console);
}

/// One page with every fault that the checks look for.
const FAULTY: &str = "<!DOCTYPE html><html><head><title>faulty</title></head><body>
<p style='width: 5rem; white-space: nowrap'>a text that runs out of the box it is in</p>
<p style='color: #999; background: #fff'>too pale to read</p>
<p style='width: 1500px'>wider than any window here</p>
<svg role='img' width='200' height='50'><text x='10' y='20'>no words for it</text></svg>
<svg role='img' width='200' height='50'><title>t</title><desc>d</desc>
<text x='10' y='20'>one text over</text><text x='12' y='22'>another text</text>
<text x='180' y='40'>cut off at the edge</text><text x='5' y='45' fill='#ccc'>pale</text></svg>
<img src='nowhere.png'>
<script>console.error('a complaint')</script>
</body></html>";

#[test]
fn the_checks_find_what_is_wrong() {
    let Some(browser) = browser() else { return };
    let look = look(&browser, &[("faulty", FAULTY.to_owned())]);
    assert!(look.console.iter().any(|line| line.contains("a complaint")), "{:?}", look.console);
    assert_eq!(look.found.len(), WIDTHS.len());
    for at in look.found {
        let wrong = at["wrong"].to_string();
        for fault in [
            "outside its box: a text that runs out",
            "too little contrast: too pale to read",
            "too little contrast: pale",
            "wider than the window: 15",
            "a picture without words: <svg",
            "a picture without words: <img",
            "one over another: one text over / another text",
            "cut off: cut off at the edge",
            "something to fetch: <img",
        ] {
            assert!(wrong.contains(fault), "no {fault:?} in {wrong}");
        }
    }
}

/// Width and height in points of each page that a browser prints on sheets of this name.
fn printed(browser: &Browser, html: &str, sheet: &str) -> Vec<[f64; 2]> {
    let sized = format!("@page {{ size: {sheet}; }} @page card {{ size: {sheet}; }}</style>");
    printed_as_it_is(browser, &html.replace("</style>", &sized))
}

/// The same on the sheets that the page itself asks for.
fn printed_as_it_is(browser: &Browser, html: &str) -> Vec<[f64; 2]> {
    let dir = Folder::new();
    dir.write("page.html", html);
    open(browser, &dir, "page.html");
    let text = String::from_utf8_lossy(&browser.print()).into_owned();
    let size = |rest: &str| {
        let inside = rest.split(']').next().unwrap_or_default();
        let numbers: Vec<f64> = inside.split_whitespace().filter_map(|n| n.parse().ok()).collect();
        [numbers[2], numbers[3]]
    };
    text.split("/MediaBox [").skip(1).map(size).collect()
}

#[track_caller]
fn assert_size(pages: &[[f64; 2]], name: &str, size: [f64; 2]) {
    for page in pages {
        let off = (page[0] - size[0]).abs().max((page[1] - size[1]).abs());
        assert!(off < ROUNDING, "{page:?} is not {name}");
    }
}

#[test]
fn a_card_is_one_sheet_of_a4_or_letter() {
    let Some(browser) = browser() else { return };
    for card in ["card", "mixed-card", "all-along-card"] {
        for (sheet, size) in SHEETS {
            let pages = printed(&browser, made::page(card), sheet);
            assert_eq!(pages.len(), 1, "{card} on {sheet}: {pages:?}");
            assert_size(&pages, sheet, size);
        }
    }
}

#[test]
fn paper_for_the_bench_is_one_sheet_of_the_paper_it_asks_for() {
    let Some(browser) = browser() else { return };
    for (page, html) in made::papers() {
        let is_its = |sheet: &(&str, _)| page.ends_with(&sheet.0.to_lowercase());
        let (sheet, size) = SHEETS.into_iter().find(is_its).expect("A4 or letter");
        let pages = printed_as_it_is(&browser, html);
        assert_eq!(pages.len(), 1, "{page}: {pages:?}");
        assert_size(&pages, sheet, size);
    }
}

/// 8 mm below the words in a box are room for a pencil.
#[test]
fn a_log_sheet_has_room_to_write() {
    let Some(browser) = browser() else { return };
    let script = "<script>
      const free = (box) => box.clientHeight - (box.firstElementChild?.offsetHeight ?? 0);
      const boxes = [...document.querySelectorAll('.fill:not(.ticks-of), tbody td')];
      const least = Math.min(...boxes.map(free)) * 25.4 / 96;
      document.title = `${boxes.length} boxes, ${least.toFixed(1)} mm`;
    </script></body>";
    let (_, crowded) = made::papers().iter().find(|(page, _)| *page == "crowded-a4").expect("it");
    let html = unguarded(crowded).replace("</body>", script);
    let (dom, _) = dumped(&browser, &html);
    let title = dom.split("<title>").nth(1).and_then(|rest| rest.split("</title>").next());
    let said = title.expect("a title").to_owned();
    let least = said.split(' ').nth(2).and_then(|mm| mm.parse::<f64>().ok());
    assert!(said.starts_with("45 boxes") && least >= Some(8.0), "{said}");
}

#[test]
fn a_report_prints_on_a4_and_letter() {
    let Some(browser) = browser() else { return };
    for (sheet, size) in SHEETS {
        let pages = printed(&browser, made::page("demonstration"), sheet);
        assert!((3..=9).contains(&pages.len()), "{pages:?}");
        assert_size(&pages, sheet, size);
    }
}

/// A page whose script never runs prints as many sheets as one that was unfolded by hand.
#[test]
fn a_print_shows_what_is_folded_away() {
    let Some(browser) = browser() else { return };
    let html = made::page("sixty-papers");
    let folded = html.matches("<details>").count();
    assert!(folded > 60, "{folded}");
    let (head, rest) = html.split_once("<script>").expect("a script");
    let (_, foot) = rest.split_once("</script>").expect("its end");
    let still = format!("{head}{foot}");
    let open = still.replace("<details>", "<details open=\"\">");
    let sheets = |html: &str| printed(&browser, html, "A4").len();
    let all = sheets(&open);
    assert_eq!((sheets(&still), sheets(html)), (all, all));
    assert!(all > 20, "{all}");
}

/// The document that a browser makes of a page, as text, and its console messages.
fn dumped(browser: &Browser, html: &str) -> (String, Vec<String>) {
    let dir = Folder::new();
    dir.write("page.html", html);
    open(browser, &dir, "page.html");
    let dom = browser.value("document.documentElement.outerHTML");
    (dom.as_str().unwrap_or_default().to_owned(), browser.console())
}

/// The search field is hidden until the script shows it.
const HIDDEN: &str = "id=\"finder\" hidden=\"\"";

#[test]
fn a_browser_runs_the_script_of_a_report_and_no_other() {
    let Some(browser) = browser() else { return };
    let html = made::page("demonstration");
    assert!(html.contains(HIDDEN));
    let (dom, console) = dumped(&browser, html);
    assert!(!dom.contains(HIDDEN) && console.is_empty(), "{console:?}");
    let strange = "<script>document.title = 'changed'</script>\
                   <img src='data:,' onerror=\"document.title = 'changed'\"></body>";
    let (dom, console) = dumped(&browser, &html.replace("</body>", strange));
    assert!(!dom.contains("<title>changed</title>"));
    assert!(console.concat().contains("Content Security Policy"), "{console:?}");
}

/// Types a word into the search of a page. Returns the message of the search, and the names of the
/// trials that are still shown.
fn searched(browser: &Browser, html: &str, word: &str) -> String {
    let ask = format!(
        "<script>addEventListener('load', () => {{
           const field = document.getElementById('find');
           field.value = {word}; field.dispatchEvent(new Event('input'));
           const rows = [...document.querySelectorAll('#trials tbody tr')];
           const seen = rows.filter((row) => row.checkVisibility());
           const names = seen.map((row) => row.querySelector('th').textContent);
           const pre = document.createElement('pre');
           pre.textContent = 'seen: ' + document.getElementById('found').textContent
             + '; ' + [...new Set(names)].join(' ') + '.';
           document.body.append(pre);
         }});</script></body>",
        word = json!(word)
    );
    let (dom, _) = dumped(browser, &unguarded(html).replace("</body>", &ask));
    let found = dom.split("<pre>seen: ").nth(1).and_then(|rest| rest.split('.').next());
    found.expect("the search was tried").to_owned()
}

#[test]
fn a_search_unfolds_what_it_finds_and_hides_the_rest() {
    let Some(browser) = browser() else { return };
    let html = made::page("sixty-papers");
    assert_eq!(searched(&browser, html, ""), "; ");
    // A paper, its trial with its readings, and nothing else.
    let found = searched(&browser, html, "p06");
    assert!(found.ends_with("; P06"), "{found}");
    assert!(searched(&browser, html, "no such thing").starts_with("0 rows; "));
}

fn script() -> String {
    let text = include_str!("../../../templates/report.js");
    format!("<script>{}</script>", text.trim_end())
}

/// A page of an empty book has one thing to do and nothing to look at.
#[test]
fn an_empty_book_shows_the_one_next_step() {
    let html = made::page("empty");
    assert_eq!(html.matches("<code>").count(), 1);
    assert!(html.contains("record paper</code>") && !html.contains("<svg"), "{html}");
}

/// Worked out by hand from the sheet: 9.99 and 9.49 at the spine, 7.49 at the fore-edge.
#[test]
fn a_trial_has_its_swell_in_the_unit_and_in_per_cent() {
    let html = made::page("one-trial");
    for (column, value) in [
        ("as sewn, mm", "2.50"),
        ("as sewn, %", "33.4"),
        ("knocked down, mm", "2.00"),
        ("knocked down, %", "26.7"),
    ] {
        let cell = format!("<td data-of=\"swell {column}\" class=\"number\">{value}</td>");
        assert!(html.contains(&cell), "no {cell}");
    }
}

#[test]
fn a_report_says_first_what_can_be_planned() {
    let html = made::page("demonstration");
    let at = |words: &str| html.find(words).unwrap_or_else(|| panic!("no {words:?}"));
    assert!(at("Ready to plan with: ") < at("<h3>Sew next</h3>"));
    assert!(at("<h3>Sew next</h3>") < at("<h3>Doubtful</h3>"));
    assert!(at("<h3>Doubtful</h3>") < at("<h2>Papers and threads</h2>"));
}

/// Three sections at each end, all along, and eighteen two-on make fifteen traverses.
#[test]
fn a_card_has_two_boxes_for_each_traverse_and_names_a_change() {
    let html = made::page("card");
    assert_eq!(html.matches("class=\"box\"").count(), 2 * 15);
    assert!(html.contains("One change would raise the chance to"));
    assert!(html.contains("<title>The predicted swell against its target</title>"));
    assert!(html.contains("<title>The thread's path</title>"));
    assert!(html.contains("class=\"card large\""), "in letters of twelve points");
}

/// The card of the tour's book that these options describe.
fn card_of(options: &[&str]) -> String {
    let folder = Folder::toured();
    let report = ["--book", "tour", "report", "--out", "card.html"];
    folder.run(&[&report[..], options].concat()).ends(0);
    folder.read("card.html")
}

/// 100 leaves make 17 sections of 3 sheets with 2 blank leaves. Eight sections of 7 have 112
/// leaves.
#[test]
fn a_change_on_a_card_says_how_many_leaves_it_leaves_blank() {
    let stock = ["--paper", "Alder bond", "--thread", "flax 25/3"];
    let html = card_of(
        &[&stock[..], &["--leaves", "100", "--sheets", "3", "--target", "rounded"]].concat(),
    );
    let change = "fold 8 sections of 7 sheets (112 leaves, 12 of them blank)";
    assert!(html.contains(change), "{html}");
}

/// The fore-edge was measured without the 12 leaves that sections of 8 sheets leave blank.
#[test]
fn a_change_on_a_card_has_the_odds_that_plan_gives_it() {
    let book = ["--leaves", "100", "--target", "20..24", "--fore-edge", "12"];
    let html = card_of(&[&stock("Alder bond")[..], &["--sheets", "8"], &book].concat());
    let html = html.replace('\u{a0}', " ");
    let found = html.split("raise the chance to ").nth(1).expect("a change");
    let (odds, rest) = found.split_once(" %: fold ").expect("a folding");
    let [sections, sheets] = [0, 3].map(|at| rest.split(' ').nth(at).expect("a number"));
    let plan = ["--book", "tour", "plan", "--paper", "Alder bond", "--from"];
    let plan = [&plan[..], &["thread=flax 25/3,sheets=8"], &book].concat();
    let said = Folder::toured().run(&plan).ends(0).out.replace("\n    ", " ");
    let wanted = format!("{sheets} sheets to the section ({sections} sections): odds {odds} %");
    assert!(said.contains(&wanted), "{wanted}: {said}");
}

fn stock(paper: &str) -> [&str; 4] {
    ["--paper", paper, "--thread", "flax 25/3"]
}

/// In a book of several hands, whose hand a prediction is for decides how wide it is.
#[test]
fn the_report_and_the_card_say_for_whose_hand_they_predict() {
    let folder = Folder::toured();
    let run = |args: &[&str]| folder.run(&[&["--book", "tour"], args].concat()).ends(0);
    let report = |plan: &[&str]| run(&[&["report", "--out", "-"], plan].concat()).out;
    let plan = [&stock("Alder bond")[..], &["--sections", "24", "--sheets", "4"]].concat();
    let (new, own) = ("for a hand new to this book", "Sewn by Ann.");
    assert!(!report(&[]).contains(new) && !report(&plan).contains(new));
    for trial in ["B02", "B04", "B06"] {
        run(&["correct", "trial", trial, "--hand", "Ann", "--reason", "a test"]);
    }
    let html = report(&[]);
    assert!(html.contains(new) && report(&plan).contains(new));
    let named = report(&[&plan[..], &["--hand", "Ann"]].concat());
    assert!(named.contains(own) && !named.contains(new), "{named}");
    let next = run(&["next", "--new-paper", "Alder bond"]).out;
    assert!(next.contains("trial block"), "{next}");
    assert!(html.contains("<h3>Sew next</h3>") && !html.contains("hardly narrow"), "{html}");
}

/// B09 is out of line in the comparison, but not so far that `audit` names it.
#[test]
fn a_report_names_a_trial_out_of_line_in_its_first_part() {
    let folder = Folder::toured();
    let run = |args: &[&str]| folder.run(&[&["--book", "tour"], args].concat()).ends(0).out;
    for (place, spine) in [("head", "11.55"), ("middle", "11.51"), ("tail", "11.5")] {
        run(&["correct", "reading", &format!("B09/sewn/{place}"), "--spine", spine]);
    }
    assert_eq!(run(&["audit"]).trim(), "nothing suspect");
    let html = run(&["report", "--out", "-"]).replace('\u{a0}', " ");
    let found = html.split("<h3>Doubtful</h3>").nth(1).expect("the doubts");
    let found = found.split("The book holds").next().expect("the doubts alone");
    assert!(found.contains("B09: its swell as sewn is 3.01 mm"), "{found}");
    assert!(!html.contains("Nothing in the book looks wrong"), "{found}");
}

/// A block that is only folded says how thick its fold is, but not what thread does in the paper.
#[test]
fn a_block_that_was_not_sewn_is_not_counted_as_a_trial() {
    let folder = Folder::with_trial();
    folder.measure("T1", "unsewn", "8.32,8.33", "8.31,8.3");
    let run = |args: &[&str]| folder.run(args).ends(0).out.replace('\n', " ");
    let fit = run(&["fit"]);
    assert!(fit.contains("bond 80 (hard, 0 trials)") && fit.contains("0 trials, 1 obs"), "{fit}");
    let book = ["--paper", "bond 80", "--thread", "linen 25", "--sections=10", "--sheets=4"];
    let predict = run(&[&["predict"], &book[..]].concat());
    assert!(predict.contains("sew a first trial block of bond 80."), "{predict}");
    assert!(run(&["report", "--out", "-"]).contains("No sewing has been measured yet"));
    let gauge = folder.run(&["gauge", "--json"]).json();
    assert_eq!(gauge["readings_that_pay"]["sewings"], 0, "{gauge}");
}

/// Twelve runs in turn of two papers, sewn alike with one thread.
#[test]
fn neighbouring_runs_that_are_sewn_alike_are_one_path_on_a_card() {
    let run = |paper: &str| format!("paper={paper},thread=flax 25/3,sections=2,sheets=4");
    let runs: Vec<String> =
        (0..12).map(|index| run(["Alder bond", "Quay laid"][index % 2])).collect();
    let options: Vec<&str> = runs.iter().flat_map(|run| ["--run", run.as_str()]).collect();
    let html = card_of(&options);
    assert!(html.contains("Sections 1 to 24, all along"), "{html}");
    assert!(html.contains("24 sections (192 leaves) in 12 runs, listed below, knocked down."));
    assert_eq!(html.matches("all along, each on a traverse").count(), 2, "in both widths");
    let other = runs[11].replace("flax 25/3", "flax 18/3");
    let mixed = [&options[..options.len() - 1], &[other.as_str()]].concat();
    let html = card_of(&mixed);
    assert!(html.contains("Sections 1 to 22, all along"), "{html}");
    assert!(html.contains("Sections 23 and 24, all along. Go on with flax 18/3."), "{html}");
}

/// Base64 (RFC 4648).
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let group = |three: &[u8]| {
        let byte = |at: usize| usize::from(three.get(at).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        let sign = |at: usize| match at <= three.len() {
            true => char::from(SIGNS[all >> (18 - 6 * at) & 63]),
            false => '=',
        };
        (0..4).map(sign).collect::<String>()
    };
    bytes.chunks(3).map(group).collect()
}

/// Needs no browser. The digest is taken of the text between the tags (CSP Level 3, "script-src").
#[test]
fn the_policy_of_a_report_names_its_script_alone() {
    // RFC 4648, section 10.
    assert_eq!(["f", "fo", "foo"].map(|text| base64(text.as_bytes())), ["Zg==", "Zm8=", "Zm9v"]);
    let html = made::page("demonstration");
    let after = html.split("<script>").nth(1).expect("a script");
    let script = after.split("</script>").next().expect("its end");
    let policy = format!("script-src 'sha256-{}'\"", base64(&Sha256::digest(script.as_bytes())));
    assert!(html.contains(&policy), "expected {policy}");
    assert!(!made::page("card").contains("script"));
}

/// Names are text everywhere. Needs no browser.
#[test]
fn names_are_never_markup() {
    for page in ["markup", "markup-card"] {
        let html = made::page(page).replace(&script(), "");
        for bad in ["<script", "<img", "<b>", "alert(1)</", "javascript:"] {
            assert!(!html.contains(bad), "{bad} in {page}");
        }
        assert!(html.contains("&#60;script") || html.contains("&lt;script"), "{page}");
    }
}

#[test]
fn a_page_needs_nothing_else() {
    for (name, html) in made::all() {
        assert!(html.contains("content=\"default-src 'none';"), "{name}");
        let html = html.replacen(&script(), "", 1);
        for bad in ["<script", "<link", "<img", "<iframe", " src=\"", "url(", "@import"] {
            assert!(!html.contains(bad), "{bad} in {name}");
        }
    }
}
