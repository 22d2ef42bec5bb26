//! Paper for the bench: a log sheet with or without a book, and one guide to a trial block, the
//! same on paper, on the page and in docs.

use super::texts::is_writing;
use crate::support::folder::Folder;
use crate::support::{repository, repository_text};
use std::fmt::Write;
use std::path::Path;

/// The page of docs that has the guide, between two comments.
const PAGE: &str = "docs/how-to/sew-a-trial-block.md";
const BEGIN: &str = "<!-- guide -->\n";
const END: &str = "<!-- end -->";
/// The folder of its pictures, relative to the page and to the root.
const PICTURES: [&str; 2] = ["../pictures/trial-block", "docs/pictures/trial-block"];
/// The width of a line of docs.
const WIDTH: usize = 100;

fn report(folder: &Folder, rest: &[&str]) -> String {
    folder.run(&[&["report", "--out", "-"], rest].concat()).ends(0).out
}

/// A book made with these options, with these papers in it.
fn book(options: &[&str], papers: &[&str]) -> Folder {
    let folder = Folder::new();
    folder.run(&[&["init", "."], options].concat()).ends(0);
    for paper in papers {
        folder.run(&["record", "paper", paper, "--caliper", "0.12mm"]).ends(0);
    }
    folder
}

#[test]
fn a_log_sheet_needs_no_book() {
    let folder = Folder::new();
    let sheet = report(&folder, &["--blank"]);
    for part in
        ["</span>mm", "</span>in", "<span>Name</span>", "size: A4", "knocked down", "fore-edge"]
    {
        assert!(sheet.contains(part), "{part}");
    }
    assert!(folder.holds().is_empty());
    assert!(report(&folder, &["--blank", "--paper-size", "LETTER"]).contains("size: letter"));
}

#[test]
fn a_log_sheet_has_the_unit_the_title_and_the_names_of_its_book() {
    let millimetres = book(&["--title", "Heron & Tern"], &["bond 80", "laid <120>"]);
    let sheet = report(&millimetres, &["--blank"]);
    for part in [
        "Heron &#38; Tern",
        "Readings, mm",
        "</span>bond 80",
        "</span>laid &#60;120&#62;",
        "<span>Another</span>",
        "size: A4",
        "<code>swellbook record trial</code>",
    ] {
        assert!(sheet.contains(part), "{part}");
    }
    let inches = book(&["--unit", "in"], &[]);
    let sheet = report(&inches, &["--blank"]);
    assert!(sheet.contains("Readings, in") && sheet.contains("size: letter"));
    assert!(report(&inches, &["--guide"]).contains("size: letter"));
    assert!(report(&inches, &["--blank", "--paper-size", "a4"]).contains("size: A4"));
}

/// The two failures: the named book does not exist, or the file belongs to somebody else.
#[test]
fn nothing_is_written_if_the_named_book_is_missing() {
    let folder = Folder::new();
    for kind in ["--blank", "--guide"] {
        let run = folder.run(&["--book", "nowhere", "report", kind, "--out", "a.html"]).ends(1);
        assert!(run.err.contains("no book.toml in nowhere"), "{}", run.err);
    }
    assert!(folder.holds().is_empty());
    folder.write("mine.html", "<p>my own page</p>");
    folder.run(&["report", "--blank", "--out", "mine.html"]).ends(3);
    assert_eq!(folder.read("mine.html"), "<p>my own page</p>");
}

#[test]
fn a_sheet_says_what_was_written_and_is_replaced_by_the_next() {
    let folder = Folder::new();
    for (kind, said) in
        [("--blank", "wrote the log sheet: a.html\n"), ("--guide", "wrote the guide: a.html\n")]
    {
        let run = folder.run(&["report", kind, "--out", "a.html"]).ends(0);
        assert_eq!(run.out, said);
    }
}

/// The guide in the form of docs, and its pictures by name.
#[derive(Default)]
struct Docs {
    text: String,
    pictures: Vec<(String, String)>,
}

/// The content of an element that takes one line.
fn inside<'l>(line: &'l str, open: &str, close: &str) -> Option<&'l str> {
    line.strip_prefix(open)?.strip_suffix(close)
}

/// Adds a paragraph, wrapped at [`WIDTH`].
fn add(text: &mut String, begin: &str, words: &str) {
    let mut line = begin.to_owned();
    for word in words.split_whitespace() {
        if line.len() + word.len() + 1 > WIDTH {
            text.push_str(line.trim_end());
            line = "\n".to_owned() + &" ".repeat(begin.len());
        }
        line += word;
        line.push(' ');
    }
    text.push_str(line.trim_end());
    text.push('\n');
}

/// A picture as a file of its own, in the colours by day.
fn alone(svg: &str, style: &str) -> String {
    let of = |rule: &&str| [".drawing .", ".drawing text"].iter().any(|it| rule.starts_with(it));
    let rules: Vec<&str> = style.lines().filter(of).collect();
    let day = style.lines().find(|line| line.starts_with(":root")).expect("the colours by day");
    let size = svg.split("viewBox=\"0 0 ").nth(1).and_then(|rest| rest.split('"').next());
    let (width, height) = size.and_then(|size| size.split_once(' ')).expect("a size");
    let root = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" width=\"{width}\" \
         height=\"{height}\" "
    );
    let begun = svg.replacen("<svg ", &root, 1);
    let rules = format!("{day}\nsvg {{ background: var(--sheet); }}\n{}", rules.join("\n"));
    begun.replacen(">\n", &format!(">\n<style>\n{rules}\n</style>\n"), 1)
}

impl Docs {
    fn of(html: &str) -> Self {
        let style = html.split("<style>").nth(1).and_then(|rest| rest.split("</style>").next());
        let main = html.split("<main>").nth(1).and_then(|rest| rest.split("</main>").next());
        let (style, main) = (style.expect("a style"), main.expect("a guide"));
        let (mut docs, mut step) = (Self::default(), 0);
        let (steps, rest) = main.split_once("</ol>").expect("steps");
        for (part, is_step) in [(steps, true), (rest, false)] {
            let mut lines = part.lines();
            while let Some(line) = lines.next() {
                step += usize::from(line == "<li>");
                docs.add(line, is_step.then_some(step));
                if let Some(name) = inside(line, "<figure class=\"drawing\" id=\"", "\">") {
                    let svg: Vec<&str> =
                        lines.by_ref().take_while(|it| *it != "</figure>").collect();
                    docs.show(name, &(svg.join("\n") + "\n"), style);
                }
            }
        }
        docs
    }

    fn add(&mut self, line: &str, step: Option<usize>) {
        let text = &mut self.text;
        if let Some(heading) = inside(line, "<h2>", "</h2>") {
            let number = step.map(|step| format!("{step}. ")).unwrap_or_default();
            let _ = write!(text, "## {number}{heading}\n\n");
        } else if let Some(item) = inside(line, "<li>", "</li>") {
            add(text, "- ", item);
        } else if line == "</ul>" {
            text.push('\n');
        } else if line.starts_with("<p") {
            let words = line.split_once('>').and_then(|(_, rest)| rest.strip_suffix("</p>"));
            add(text, "", words.expect("a paragraph on a line"));
            text.push('\n');
        }
    }

    fn show(&mut self, name: &str, svg: &str, style: &str) {
        let words = |tag| {
            svg.lines().find_map(|line| inside(line, &format!("<{tag}>"), &format!("</{tag}>")))
        };
        let (title, described) = (words("title").expect("a title"), words("desc").expect("words"));
        let _ = write!(self.text, "![{title}. {described}]({}/{name}.svg)\n\n", PICTURES[0]);
        self.pictures.push((name.to_owned(), alone(svg, style)));
    }
}

fn kept(path: &Path, what: &str) {
    if is_writing() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("the folder of it");
        std::fs::write(path, what).expect("it can be written");
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(kept == what, "{} is not what `report --guide` writes", path.display());
}

#[test]
fn the_guide_in_docs_is_the_one_that_is_printed() {
    let docs = Docs::of(&report(&Folder::new(), &["--guide"]));
    assert!(docs.pictures.len() >= 9, "{}", docs.pictures.len());
    for (name, picture) in &docs.pictures {
        kept(&repository(&format!("{}/{name}.svg", PICTURES[1])), picture);
    }
    let page = repository_text(PAGE);
    let (before, rest) = page.split_once(BEGIN).expect("where the guide begins");
    let (_, after) = rest.split_once(END).expect("where it ends");
    kept(&repository(PAGE), &format!("{before}{BEGIN}\n{}{END}{after}", docs.text));
}

#[cfg(target_os = "linux")]
mod served {
    use super::*;
    use crate::support::served::{Served, pages};

    #[test]
    fn the_page_of_the_bench_has_the_guide_and_the_sheets_of_the_command() {
        let folder = book(&["--title", "Heron & Tern"], &["bond 80"]);
        let printed = ["--guide", "--blank"].map(|kind| report(&folder, &[kind]));
        let served = Served::with(&folder, &["--port", "0"]);
        assert_eq!(served.get("/guide/print").body, printed[0]);
        assert_eq!(served.get("/guide/log-sheet").body, printed[1]);
        let main = printed[0].split("<main>").nth(1).and_then(|rest| rest.split("</main>").next());
        let page = served.get("/guide").body;
        assert!(page.contains(main.expect("a guide").trim()), "{page}");
    }

    /// A file included in a page without being a template itself must not contain template tags.
    #[test]
    fn no_page_shows_a_tag_of_its_template() {
        let folder = Folder::toured();
        let served = Served::with(&folder, &["--book", "tour", "--port", "0"]);
        for page in pages() {
            let body = served.get(&page).body;
            assert!(!body.contains("{%") && !body.contains("{{"), "{page}");
        }
        let trial = served.get("/trial").body;
        assert!(trial.contains("Needles, knives and hammers") && trial.contains("href=\"/guide\""));
    }
}
