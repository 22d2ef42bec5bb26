//! The reference pages name what the program has, all of it and nothing else.

use crate::pages::texts::{pages, text_of};
use crate::support::folder::Folder;
use crate::support::repository;
use std::collections::BTreeSet;
use std::path::Path;
use swellbook::model::{Beliefs, Coefficient, SwellSpread};

/// The text below the heading, up to the next one of its rank or higher.
fn section(page: &str, heading: &str) -> String {
    let text = text_of(&repository(page));
    let rank = heading.chars().take_while(|&c| c == '#').count();
    let ends = |line: &&str| {
        let hashes = line.chars().take_while(|&c| c == '#').count();
        (1..=rank).contains(&hashes)
    };
    let mut lines = text.lines().skip_while(|line| *line != heading);
    assert!(lines.next().is_some(), "{page} has no heading {heading}");
    lines.take_while(|line| !ends(line)).collect::<Vec<_>>().join("\n")
}

/// The words of a text that begin with `--`.
fn options(text: &str) -> BTreeSet<String> {
    let word = |c: char| !(c.is_ascii_alphanumeric() || c == '-');
    let long = |word: &&str| word.starts_with("--") && !word.starts_with("---") && *word != "--";
    text.split(word).filter(long).map(str::to_owned).collect()
}

/// The options that a help text lists, with their other names.
fn listed(help: &str) -> BTreeSet<String> {
    let (_, list) = help.split_once("\nOptions:\n").expect("a list of options");
    let head = |line: &&str| line.trim_start().starts_with('-');
    let heads = list.lines().filter(head).collect::<Vec<_>>().join("\n");
    let aliases = list.lines().filter(|line| line.contains("[alias")).collect::<Vec<_>>();
    options(&heads).union(&options(&aliases.join("\n"))).cloned().collect()
}

/// The commands that a help text lists.
pub fn subcommands(help: &str) -> Vec<String> {
    let Some((_, list)) = help.split_once("\nCommands:\n") else { return Vec::new() };
    let lines = list.lines().take_while(|line| !line.is_empty());
    let named = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names = named.filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

fn everywhere() -> BTreeSet<String> {
    let head = text_of(&repository("docs/reference/commands.md"));
    let (head, _) = head.split_once("\n## ").expect("a heading");
    options(head.split_once("**Options of every command**").expect("that list").1)
}

fn check_command(folder: &Folder, path: &[String], seen: &mut Vec<String>) {
    let args: Vec<&str> = path.iter().map(String::as_str).chain(["--help"]).collect();
    let help = folder.run(&args).ends(0).out;
    let rank = if path.len() > 1 { "###" } else { "##" };
    let name = std::iter::once("swellbook").chain(path.iter().map(String::as_str));
    let heading = format!("{rank} {}", name.collect::<Vec<_>>().join(" "));
    let text = section("docs/reference/commands.md", &heading);
    // A command's own part ends where those of its own commands begin.
    let own = text.split("\n### ").next().unwrap_or_default();
    let (mut has, common) = (listed(&help), everywhere());
    has.retain(|option| !common.contains(option) && option != "--version");
    assert_eq!(options(own), has, "{heading}: on the page, and in its help");
    for values in help.split("[possible values: ").skip(1) {
        for value in values.split(']').next().unwrap_or_default().split(", ") {
            assert!(own.contains(&format!("`{value}`")), "{heading} does not name {value}");
        }
    }
    seen.push(heading);
    for name in subcommands(&help) {
        check_command(folder, &[path, &[name]].concat(), seen);
    }
}

#[test]
fn every_command_and_option_is_on_its_page() {
    let mut seen = Vec::new();
    check_command(&Folder::new(), &[], &mut seen);
    assert!(seen.len() >= 14, "{seen:?}");
    let text = text_of(&repository("docs/reference/commands.md"));
    let headings = text.lines().filter(|line| line.contains("# swellbook"));
    for heading in headings {
        assert!(seen.iter().any(|known| known == heading), "{heading} is no command");
    }
}

/// The cells of the tables' rows below a heading, without the marks of code.
fn table(page: &str, heading: &str) -> Vec<Vec<String>> {
    let cells = |line: &str| -> Vec<String> {
        let inside = line.trim().trim_matches('|');
        inside.split(" | ").map(|cell| cell.trim().trim_matches('`').to_owned()).collect()
    };
    let rows = section(page, heading);
    rows.lines().filter(|line| line.starts_with("| `")).map(cells).collect()
}

/// `−0.04` as the page writes it.
fn figure(text: &str) -> f64 {
    text.replace('\u{2212}', "-").parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

#[test]
fn the_beliefs_on_the_page_are_those_of_the_program() {
    let (beliefs, rows) = (Beliefs::default(), table("docs/model.md", "## The model"));
    let row = |name: &str, cells: usize| {
        let found =
            rows.iter().find(|row| row.len() == cells && row[0].split('`').next() == Some(name));
        found.unwrap_or_else(|| panic!("no belief {name} on the page")).clone()
    };
    for coefficient in Coefficient::ALL {
        let (belief, row) = (beliefs.coefficient(coefficient), row(coefficient.name(), 3));
        assert_eq!((figure(&row[1]), figure(&row[2])), (belief.mean, belief.sd), "{coefficient}");
    }
    for spread in SwellSpread::ALL {
        assert_eq!(figure(&row(spread.name(), 2)[1]), beliefs.scale(spread), "{spread}");
    }
}

#[test]
fn every_file_and_column_of_a_book_is_on_its_page() {
    let folder = Folder::new();
    folder.run(&["init", "."]).ends(0);
    let mut files = 0;
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(section("docs/reference/files.md", "# Files").contains(&format!("`{name}`")));
        let Some(_) = name.strip_suffix(".csv") else { continue };
        files += 1;
        let text = section("docs/reference/files.md", &format!("## {name}"));
        let words: BTreeSet<&str> =
            text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).collect();
        let header = folder.read(&name);
        for column in header.lines().next().unwrap().split(',') {
            assert!(words.contains(column), "{name}: no {column} on the page");
        }
        for row in table("docs/reference/files.md", &format!("## {name}")) {
            for column in row[0].split("`, `") {
                assert!(header.contains(column), "{name} has no column {column}");
            }
        }
    }
    assert_eq!(files, 7);
}

/// A heading as a link names it.
fn anchor(heading: &str) -> String {
    let text = heading.trim_start_matches('#').trim().to_lowercase();
    let kept = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_');
    text.chars().filter(kept).map(|c| if c == ' ' { '-' } else { c }).collect()
}

fn has_anchor(page: &Path, wanted: &str) -> bool {
    text_of(page).lines().filter(|line| line.starts_with('#')).any(|line| anchor(line) == wanted)
}

#[test]
fn every_link_leads_somewhere() {
    let mut followed = 0;
    for page in pages() {
        for link in text_of(&page).split("](").skip(1) {
            let target = link.split(')').next().unwrap_or_default();
            let (path, heading) = target.split_once('#').unwrap_or((target, ""));
            let folder = page.parent().expect("a folder");
            let file = if path.is_empty() { page.clone() } else { folder.join(path) };
            assert!(file.exists(), "{}: {target} is not there", page.display());
            let leads = heading.is_empty() || has_anchor(&file, heading);
            assert!(leads, "{}: {target} has no such heading", page.display());
            followed += 1;
        }
    }
    assert!(followed >= 40, "only {followed} links");
}

#[test]
fn readme_begins_with_the_job_and_has_the_two_commands() {
    let text = text_of(&repository("README.md"));
    let mut paragraphs = text.split("\n\n");
    assert_eq!(paragraphs.next(), Some("# swellbook"));
    let job = paragraphs.next().expect("a paragraph");
    assert!(job.contains("swell") && job.contains("binder") && !job.contains('\n'));
    assert!(text.contains("\ncargo run --release -- tour\ncargo test --release\n"));
}

#[test]
fn no_page_names_a_place_on_one_machine() {
    for page in pages() {
        for place in ["/tmp", "/home", "/root", "/work", "/usr", "C:\\"] {
            assert!(!text_of(&page).contains(place), "{} has {place}", page.display());
        }
    }
}
