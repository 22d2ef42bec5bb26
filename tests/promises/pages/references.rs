//! The reference pages name what the program has, all of it and nothing else.

use crate::pages::texts::{is_writing, pages, text_of};
use crate::support::folder::{Folder, Run};
use crate::support::repository;
use clap::{Arg, Command};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use swellbook::book::{Column, Kind, column_tables, sheet_columns};
use swellbook::model::{Beliefs, Coefficient, SwellSpread};
use swellbook::trade::Range;

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

/// What is made of the program for a page: tables, by their names there.
type Tables = BTreeMap<String, String>;

/// The commands that a help text lists.
pub fn subcommands(help: &str) -> Vec<String> {
    let Some((_, list)) = help.split_once("\nCommands:\n") else { return Vec::new() };
    let lines = list.lines().take_while(|line| !line.is_empty());
    let named = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names = named.filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

/// Holds what stands between each `<!-- table: NAME -->` and `<!-- end -->` of a page to what is
/// made of the program. With `SWELLBOOK_TEXTS=write` it is written there instead.
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

/// An option or an argument, and what its help says.
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

/// Every command, under its name, with what it takes; global options stand with the program.
fn commands(command: &Command, name: &str, found: &mut Vec<(String, Vec<[String; 2]>)>) {
    let is_own = |arg: &&Arg| arg.get_id() != "help" && (found.is_empty() || !arg.is_global_set());
    let args = command.get_arguments().filter(is_own).map(said).collect();
    found.push((name.to_owned(), args));
    for inner in command.get_subcommands().filter(|inner| inner.get_name() != "help") {
        commands(inner, &format!("{name} {}", inner.get_name()), found);
    }
}

/// A table with these words at the head of its columns.
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

/// What a column allows, and what an empty cell of it means.
fn allowed(column: &Column, default: &str) -> String {
    let number = |number: f64| number.to_string().replace('-', "\u{2212}");
    let Range { low, high, unit } = column.range;
    let kind = match column.kind {
        Kind::Words(words) => format!("`{}`", words.replace(", ", "`, `")),
        Kind::YesNo => "yes or no".to_owned(),
        Kind::Decimal | Kind::Whole => {
            format!("{} to {} {unit}", number(low), number(high)).trim_end().to_owned()
        }
        Kind::Date | Kind::Text => String::new(),
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
    let (folder, files) = (Folder::new(), section("docs/reference/files.md", "# Files"));
    folder.run(&["init", "."]).ends(0);
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(files.contains(&format!("`{name}`")), "{name} is not on the page");
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

/// What a field's type stands for, as ends of its path.
fn parts(kind: &str) -> &'static [&'static str] {
    match kind {
        "summary" => &[".mean", ".sd", ".q05", ".q50", ".q95"],
        "mean-sd" => &[".mean", ".sd"],
        _ => &[""],
    }
}

fn kind_of(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(number) if number.is_u64() => "whole",
        Value::Number(_) => "number",
        Value::String(_) => "text",
        Value::Array(_) => "list",
        Value::Object(_) => "object",
    }
}

/// Every path of a value that holds no more, with its type. Names of the model are `NAME`.
fn paths(value: &Value, path: &str, found: &mut BTreeSet<(String, &'static str)>) {
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                let named = matches!(path, "coefficients" | "spreads");
                let key = if named { "NAME" } else { key };
                let dot = if path.is_empty() { "" } else { "." };
                paths(value, &format!("{path}{dot}{key}"), found);
            }
        }
        Value::Array(list) => {
            list.iter().for_each(|value| paths(value, &format!("{path}[]"), found));
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {
            found.insert((path.to_owned(), kind_of(value)));
        }
    }
}

/// Compares the page with the fields of what several runs print.
fn check_json(heading: &str, runs: Vec<Run>) {
    let mut found = BTreeSet::new();
    for run in runs {
        let value = serde_json::from_str(&run.ends(0).out).expect("JSON");
        paths(&value, "", &mut found);
    }
    let mut written = Vec::new();
    for row in table("docs/reference/json.md", heading) {
        assert_eq!(row.len(), 3, "{heading}: {row:?}");
        // What an object holds has rows of its own.
        let object = row[1].starts_with("object");
        let single = |part: &&str| (format!("{}{part}", row[0]), row[1].clone());
        if !object {
            written.extend(parts(&row[1]).iter().map(single));
        }
    }
    let known: BTreeSet<&String> = written.iter().map(|(path, _)| path).collect();
    for (path, kind) in &found {
        let optional = table("docs/reference/json.md", heading)
            .iter()
            .any(|row| row[0] == *path && row[1].contains("null"));
        assert!(known.contains(path) || (optional && *kind == "null"), "{heading} lacks {path}");
    }
    for (path, kind) in &written {
        let real: Vec<&str> =
            found.iter().filter(|(real, _)| real == path).map(|(_, kind)| *kind).collect();
        assert!(!real.is_empty(), "{heading}: no {path} in what is printed");
        let fits = |real: &&str| match kind.as_str() {
            "summary" | "mean-sd" | "number" => matches!(*real, "number" | "whole"),
            said => said.contains(real) || (*real == "whole" && said.contains("number")),
        };
        assert!(real.iter().all(fits), "{heading}: {path} is said to be {kind} and is {real:?}");
    }
}

/// The sheet with every spine from the day `from` on two millimetres thicker.
fn thicker_from(sheet: &str, from: &str) -> String {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let column = |name: &str| header.iter().position(|field| field == name).expect(name);
    let (date, spine) = (column("date"), column("spine_mm"));
    let mut lines = vec![header.iter().collect::<Vec<_>>().join(",")];
    for record in reader.records().map(|record| record.expect("a row")) {
        let mut fields: Vec<String> = record.iter().map(str::to_owned).collect();
        if fields[date].as_str() >= from && !fields[spine].is_empty() {
            let thick: f64 = fields[spine].parse().expect("a number");
            fields[spine] = format!("{:.2}", thick + 2.0);
        }
        lines.push(fields.join(","));
    }
    lines.join("\n") + "\n"
}

#[test]
fn every_field_of_the_json_is_on_its_page() {
    let folder = Folder::toured();
    let on = |args: &[&str]| folder.run(&[&["--book", "tour"], args].concat());
    let plan = ["predict", "--json", "--paper", "Alder bond", "--thread", "flax 25/3"];
    let plan = [&plan[..], &["--sections", "24", "--sheets", "4"]].concat();
    let aimed = [&plan[..], &["--target", "rounded"]].concat();
    let kept = [&aimed[..], &["--keep", "a book"]].concat();
    let shaped =
        [&plan[..4], &["--leaves", "190", "--round", "90", "--thread", "flax 25/3"]].concat();
    let shaped = [&shaped[..], &["--sheets", "4"]].concat();
    // Beyond the trials in everything, boned or not in a book of its own.
    let far = ["--sections", "90", "--sheets", "8", "--on", "3", "--state", "pressed", "--boned"];
    let new = ["--paper", "x", "--caliper", "0.3", "--hardness", "hard", "--thread", "y"];
    let far = [&["predict", "--json", "--laid", "0.8"], &new[..], &far].concat();
    check_json("## predict", vec![on(&plan), on(&kept), on(&shaped), on(&far)]);
    let choose = ["plan", "--json", "--paper", "Alder bond", "--leaves", "190", "--all"];
    let from = [&choose[..], &["--target", "rounded-backed", "--from"]].concat();
    let from = on(&[&from[..], &["thread=flax 25/3,sheets=2"]].concat());
    check_json("## plan", vec![from, on(&[&choose[..], &["--target", "199..200"]].concat())]);
    // An outcome written, one measured after its forecast, a forecast without one, one without a
    // target, and a hand that drifts.
    let kept = folder.read("tour/forecasts.csv");
    let open = kept.lines().last().expect("a row").replacen("a book", "another", 1);
    let rows = format!("{}34.5\n{open}\n", kept.trim_end());
    let typed = open.replacen("another", "a third", 1).replace("rounded 12..22", "12..22");
    let made = kept.lines().next().expect("a header").split(',').position(|it| it == "made");
    let mut fields: Vec<&str> = open.splitn(made.expect("a day") + 2, ',').collect();
    (fields[0], fields[made.expect("a day")]) = ("B14", "2026-02-01");
    let known = fields.join(",");
    folder.write("tour/forecasts.csv", format!("{rows}{typed}\n{known}\n"));
    let settled = on(&["fit", "--json"]);
    let sheet = folder.read("tour/demonstration-sheet.csv");
    folder.write("drifting.csv", thicker_from(&sheet, "2026-02-03"));
    folder.run(&["init", "drifting"]).ends(0);
    folder.run(&["--book", "drifting", "import", "drifting.csv"]).ends(0);
    let drifting = folder.run(&["--book", "drifting", "fit", "--json"]);
    check_json("## fit", vec![settled, drifting]);
    let part = ["--sewn", "8", "--spine", "9.6,9.66", "--fore-edge", "6.86,6.9"];
    let part_way = |args: &[&'static str]| {
        let args = [&["midway"], &args[1..], &part[..]].concat();
        on(&args)
    };
    // Thread, sewing and boning are all among the changes that help.
    let narrow = [&plan[..], &["--target", "26..27.5"]].concat();
    let long = [&plan[..6], &["--sections", "90", "--sheets", "4", "--state", "pressed"]].concat();
    check_json(
        "## midway",
        vec![
            part_way(&plan),
            part_way(&aimed),
            part_way(&narrow),
            part_way(&shaped),
            part_way(&long),
        ],
    );
    let next = |args: &[&'static str]| [&["next"], &args[1..]].concat();
    check_json("## next", vec![on(&next(&plan)), on(&next(&aimed)), on(&next(&long))]);
    let paper = ["next", "--json", "--new-paper", "x", "--caliper", "0.1", "--hardness", "soft"];
    let long = [&paper[..], &["--sections", "90"]].concat();
    check_json("## next --new-paper", vec![on(&paper), on(&long)]);
    let sheet = folder.read("tour/demonstration-sheet.csv");
    folder.write("sheet.csv", sheet.replacen("trial,", "my own,trial,", 1).replace("\nB", "\n,B"));
    check_json("## import", vec![on(&["import", "sheet.csv", "--json"])]);
    folder.write("targets.csv", "target,low_percent,high_percent,my own\na b,1,2,\nA b,1,2,\n");
    std::fs::copy(folder.path().join("targets.csv"), folder.path().join("tour/targets.csv"))
        .unwrap();
    check_json("## audit", vec![on(&["audit", "--json"])]);
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
