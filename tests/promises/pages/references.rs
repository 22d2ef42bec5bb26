//! The reference pages name everything that the program has, and nothing else.

use crate::pages::json::kind_of;
use crate::pages::texts::{is_writing, pages, text_of};
use crate::support::folder::Folder;
use crate::support::repository;
use clap::{Arg, Command};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use swellbook::book::{Column, Kind, column_tables, sheet_columns};
use swellbook::model::{Beliefs, Coefficient, SwellSpread};
use swellbook::trade::Range;

/// The text below a heading, up to the next heading of its rank or higher.
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

/// Tables made from the program for a page, by their names on the page.
type Tables = BTreeMap<String, String>;

pub fn subcommands(help: &str) -> Vec<String> {
    let Some((_, list)) = help.split_once("\nCommands:\n") else { return Vec::new() };
    let lines = list.lines().take_while(|line| !line.is_empty());
    let named = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names = named.filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

/// Compares the text between each `<!-- table: NAME -->` and `<!-- end -->` of a page with the
/// table made from the program. With `SWELLBOOK_TEXTS=write`, it writes the table there instead.
fn hold(page: &str, mut tables: Tables) {
    let old = text_of(&repository(page));
    let (mut new, mut rest) = (String::new(), old.as_str());
    while let Some((before, after)) = rest.split_once("<!-- table: ") {
        let (name, after) = after.split_once(" -->").expect("a name");
        let table = tables.remove(name).unwrap_or_else(|| panic!("{page}: no table of {name}"));
        new += &format!("{before}<!-- table: {name} -->\n\n{table}\n");
        rest = &after[after.find("<!-- end -->").expect("an end")..];
    }
    assert!(tables.is_empty(), "{page} has no place for {:?}", tables.keys());
    new += rest;
    if is_writing() {
        std::fs::write(repository(page), new).expect("the page can be written");
    } else {
        assert!(new == old, "{page} is not as the program is; SWELLBOOK_TEXTS=write makes it so");
    }
}

/// An option or an argument, with its help.
fn said(arg: &Arg) -> [String; 2] {
    let also = arg.get_visible_aliases().unwrap_or_default().into_iter();
    let also: String = also.map(|name| format!(" (also `--{name}`)")).collect();
    let mut help = arg.get_long_help().or(arg.get_help()).expect("help").to_string();
    if arg.get_action().takes_values() {
        let values = arg.get_possible_values().into_iter();
        let values: Vec<String> = values.map(|value| format!("`{}`", value.get_name())).collect();
        let defaults = arg.get_default_values().iter().map(|value| value.display().to_string());
        help += [" ", &values.join(", ")].concat().trim_end();
        help += &defaults.map(|value| format!(" [default: {value}]")).collect::<String>();
    }
    [format!("`{arg}`{also}"), help].map(|text| text.replace('\n', " ").replace('|', "\\|"))
}

/// Every command with its name and its options; global options are listed with the program.
fn commands(command: &Command, name: &str, found: &mut Vec<(String, Vec<[String; 2]>)>) {
    let is_own = |arg: &&Arg| arg.get_id() != "help" && (found.is_empty() || !arg.is_global_set());
    let args = command.get_arguments().filter(is_own).map(said).collect();
    found.push((name.to_owned(), args));
    for inner in command.get_subcommands().filter(|inner| inner.get_name() != "help") {
        commands(inner, &format!("{name} {}", inner.get_name()), found);
    }
}

/// A table with these words at the heads of its columns.
fn lines<const N: usize>(head: [&str; N], rows: impl Iterator<Item = [String; N]>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let head = line(&head.map(str::to_owned)) + &line(&[(); N].map(|()| "---".to_owned()));
    rows.fold(head, |table, row| table + &line(&row))
}

#[test]
fn every_command_and_option_is_on_its_page() {
    let (mut program, mut all) = (swellbook::commands::command_line(), Vec::new());
    program.build();
    commands(&program, "swellbook", &mut all);
    let mut users: BTreeMap<&[String; 2], Vec<&str>> = BTreeMap::new();
    for (name, args) in &all {
        let name = name.trim_start_matches("swellbook ");
        args.iter().for_each(|arg| users.entry(arg).or_default().push(name));
    }
    users.retain(|_, names| names.len() > 1);
    let several = users.iter().map(|([option, help], names)| {
        [option.clone(), help.clone(), format!("`{}`", names.join("`, `"))]
    });
    let several = lines(["option", "", "of"], several);
    let mut tables = Tables::from([("several commands".to_owned(), several)]);
    for (name, args) in all.iter().filter(|(_, args)| !args.is_empty()) {
        let (shared, own): (Vec<_>, Vec<_>) = args.iter().partition(|arg| users.contains_key(arg));
        let mut parts = Vec::new();
        if !own.is_empty() {
            parts.push(lines(["option", ""], own.into_iter().cloned()));
        }
        if !shared.is_empty() {
            let names: Vec<&str> = shared.iter().map(|[option, _]| option.as_str()).collect();
            parts
                .push(format!("Of [several commands](#several-commands): {}.\n", names.join(", ")));
        }
        tables.insert(name.clone(), parts.join("\n"));
    }
    hold("docs/reference/commands.md", tables);
    let text = text_of(&repository("docs/reference/commands.md"));
    let headings = text.lines().filter_map(|line| line.trim_start_matches('#').strip_prefix(' '));
    let headings = headings.filter(|heading| heading.starts_with("swellbook"));
    let known: BTreeSet<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(headings.collect::<BTreeSet<_>>(), known);
}

/// What a column allows, and what an empty cell means.
fn allowed(column: &Column, default: &str) -> String {
    let number = |number: f64| number.to_string().replace('-', "\u{2212}");
    let Range { low, high, unit } = column.range;
    let kind = match column.kind {
        Kind::Words(words) => format!("`{}`", words.replace(", ", "`, `")),
        Kind::YesNo => "yes or no".to_owned(),
        Kind::Decimal | Kind::Whole => {
            format!("{} to {} {unit}", number(low), number(high)).trim_end().to_owned()
        }
        Kind::Date | Kind::Text | Kind::Note => String::new(),
    };
    let gap = if kind.is_empty() || column.about.is_empty() { "" } else { ", " };
    let empty = if default.is_empty() { "" } else { &format!("; `{default}` where empty") };
    format!("{}{gap}{kind}{empty}", column.about)
}

#[test]
fn every_file_and_column_of_a_book_is_on_its_page() {
    let mut tables = Tables::new();
    for (file, columns, defaults) in column_tables() {
        let rows = columns.iter().zip(&defaults).map(|(column, default)| {
            let needed = if column.required { "yes" } else { "" };
            let needed = if column.needs.is_empty() { needed } else { column.needs };
            [format!("`{}`", column.name), needed.to_owned(), allowed(column, default)]
        });
        tables.insert(file.to_owned(), lines(["column", "needed", "allowed"], rows));
    }
    let sheet = sheet_columns().iter().map(|column| match column.required {
        true => format!("**`{}`**", column.name),
        false => format!("`{}`", column.name),
    });
    let sheet = sheet.collect::<Vec<_>>().join(", ") + "\n";
    tables.insert("the flat sheet".to_owned(), sheet);
    hold("docs/reference/files.md", tables);
    let (folder, files) = (Folder::with_book(), section("docs/reference/files.md", "# Files"));
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(files.contains(&format!("`{name}`")), "{name} is not on the page");
    }
}

/// The cells of the rows in the tables below a heading, without the marks of code.
fn table(page: &str, heading: &str) -> Vec<Vec<String>> {
    let cells = |line: &str| -> Vec<String> {
        let inside = line.trim().trim_matches('|');
        inside.split(" | ").map(|cell| cell.trim().trim_matches('`').to_owned()).collect()
    };
    let rows = section(page, heading);
    rows.lines().filter(|line| line.starts_with("| `")).map(cells).collect()
}

/// The columns of an exported table are on its page, in their order, with their types.
#[test]
fn every_column_of_the_exported_tables_is_on_its_page() {
    let folder = Folder::toured();
    let readings = table("docs/reference/files.md", "## A table of readings");
    let own = table("docs/reference/files.md", "## A table of observations");
    let trial = readings.iter().skip_while(|row| row[0] != "trial");
    let mut observations = own.clone();
    let end = readings.iter().position(|row| row[0] == "leaves_mm").expect("that row");
    observations.splice(1..1, trial.take(end).cloned());
    for (option, page) in [("--readings", readings), ("--observations", observations)] {
        let args = ["--book", "tour", "export", option];
        let csv = folder.run(&args).ends(0).out;
        let names: Vec<&str> = csv.lines().next().expect("names").split(',').collect();
        assert_eq!(names, page.iter().map(|row| row[0].as_str()).collect::<Vec<_>>(), "{option}");
        let json = folder.run(&[&args[..], &["--format", "json"]].concat()).json();
        let rows = json.as_array().expect("rows");
        for (row, column) in rows.iter().flat_map(|row| page.iter().map(move |it| (row, it))) {
            let kind = kind_of(&row[&column[0]]);
            assert!(kind == column[1] || kind == "null", "{}: {kind}", column[0]);
        }
    }
}

/// A figure such as `−0.04`, as the page writes it.
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
        assert_eq!((figure(&row[1]), figure(&row[2])), (belief.mean, belief.sd), "{coefficient:?}");
    }
    for spread in SwellSpread::ALL {
        assert_eq!(figure(&row(spread.name(), 2)[1]), beliefs.scale(spread), "{spread:?}");
    }
}

/// The anchor by which a link names a heading.
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
