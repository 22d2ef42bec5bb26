//! Manual pages, made from the help texts.

use crate::terminal::mark::MAN;
use clap::builder::{PossibleValue, StyledStr};
use clap::{Arg, Command};
use clap_mangen::Man;
use clap_mangen::roff::{Inline, Roff, bold, roman};
use std::error::Error;

/// The heading of the exit codes in the program's help.
const CODES: &str = "Exit codes:\n";

/// Environment variables that the program reads.
const VARIABLES: [(&str, &str); 4] = [
    ("SWELLBOOK", "Folder of the book, if --book is not given."),
    ("SWELLBOOK_TODAY", "The date to use as today, as YYYY-MM-DD."),
    (
        "NO_COLOR, CLICOLOR, CLICOLOR_FORCE, TERM",
        "Colour is used only at a terminal. Setting NO_COLOR to anything turns it off, as do \
         CLICOLOR=0 and TERM=dumb. CLICOLOR_FORCE, set to anything, turns it on everywhere.",
    ),
    (
        "LC_ALL, LC_CTYPE, LANG",
        "The first of these that is set decides: if it names UTF-8, ranges are drawn with \
         characters beyond ASCII.",
    ),
];

pub(super) struct Page {
    /// The words after `swellbook`, such as `record trial`; empty for the program itself.
    pub words: String,
    pub roff: String,
}

impl Page {
    /// The file name by which `man` finds the page.
    pub fn file(&self) -> String {
        format!("{}.1", name_of(&self.words))
    }
}

fn name_of(words: &str) -> String {
    format!("swellbook {words}").trim_end().replace(' ', "-")
}

/// Every page, the program's first. `files` are the book's files besides its settings.
pub(super) fn pages(
    program: Command,
    files: &[&str],
) -> Result<Vec<Page>, Box<dyn Error + Send + Sync>> {
    let mut program = program.disable_help_subcommand(true);
    program.build();
    let ending = ending(&program, files);
    let mut found = Vec::new();
    commands(&program, "", &mut found);
    let page = |(words, command): (String, &Command)| {
        Ok(Page { roff: page(command, &words, &ending)?, words })
    };
    found.into_iter().map(page).collect()
}

/// Collects every command with the words after `swellbook`.
fn commands<'c>(command: &'c Command, words: &str, found: &mut Vec<(String, &'c Command)>) {
    found.push((words.to_owned(), command));
    for inner in command.get_subcommands() {
        commands(inner, format!("{words} {}", inner.get_name()).trim_start(), found);
    }
}

fn page(
    command: &Command,
    words: &str,
    ending: &str,
) -> Result<String, Box<dyn Error + Send + Sync>> {
    let usage = command.clone().render_usage().to_string();
    let usage = usage.trim_start_matches("Usage:").trim().to_owned();
    let shown = command.clone().override_usage(usage).mut_args(in_one_line);
    let man = Man::new(shown.subcommand_help_heading("COMMANDS"))
        .source(concat!("swellbook ", env!("CARGO_PKG_VERSION")))
        .manual("Swellbook")
        // No date. An empty argument would be dropped, and the next one read as the date.
        .date("\"\"");
    let mut page = format!("{MAN}\n").into_bytes();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    page.extend(description(command).render().bytes());
    man.render_options_section(&mut page)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut page)?;
    }
    page.extend(ending.bytes());
    page.extend(see_also(words).render().bytes());
    Ok(String::from_utf8(page)?)
}

/// Moves an option's aliases and possible values into the line of its help.
fn in_one_line(arg: Arg) -> Arg {
    let names = arg.get_visible_aliases().unwrap_or_default();
    let also: String = names.iter().map(|name| format!(" (also --{name})")).collect();
    let values = arg.get_possible_values();
    let values: Vec<&str> = values.iter().map(PossibleValue::get_name).collect();
    let values = match arg.get_action().takes_values() && !values.is_empty() {
        true => format!(" [possible values: {}]", values.join(", ")),
        false => String::new(),
    };
    let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
    arg.hide_possible_values(true).help(help + &values + &also)
}

/// The help before and after the options, with the examples in a separate section.
fn description(command: &Command) -> Roff {
    let text = |it: Option<&StyledStr>| it.map(ToString::to_string).unwrap_or_default();
    let before = text(command.get_before_long_help());
    let (examples, rest) = before.split_once("\n\n").unwrap_or((&before, ""));
    let (about, after) = (text(command.get_about()), text(command.get_after_long_help()));
    let mut roff = Roff::new();
    roff.control("SH", ["DESCRIPTION"]);
    for part in [&format!("{about}."), rest, &after] {
        let paragraphs = part.split("\n\n").filter(|it| !it.is_empty() && !it.starts_with(CODES));
        paragraphs.for_each(|it| paragraph(&mut roff, it));
    }
    roff.control("SH", ["EXAMPLES"]);
    paragraph(&mut roff, examples.split_once('\n').map_or("", |it| it.1));
    roff
}

/// A paragraph; indented lines keep their line breaks.
fn paragraph(roff: &mut Roff, text: &str) {
    let lines: Vec<&str> = text.lines().collect();
    roff.control("PP", []);
    for block in lines.chunk_by(|a, b| a.starts_with("  ") == b.starts_with("  ")) {
        let is_set_in = block[0].starts_with("  ");
        if is_set_in {
            roff.control("RS", ["4"]).control("nf", []);
        }
        for line in block {
            roff.text(inlines(line.strip_prefix("  ").unwrap_or(line)));
        }
        if is_set_in {
            roff.control("fi", []).control("RE", []);
        }
    }
}

/// Text between backticks becomes bold.
fn inlines(line: &str) -> Vec<Inline> {
    let parts = line.split('`').enumerate().filter(|(_, part)| !part.is_empty());
    parts.map(|(at, part)| if at % 2 == 1 { bold(part) } else { roman(part) }).collect()
}

/// The sections that are the same on every page.
fn ending(program: &Command, files: &[&str]) -> String {
    let after = program.get_after_long_help().map(ToString::to_string).unwrap_or_default();
    let codes = after.split("\n\n").find_map(|part| part.strip_prefix(CODES));
    let mut roff = Roff::new();
    roff.control("SH", ["EXIT STATUS"]);
    let codes = codes.unwrap_or_default().lines().filter_map(|line| line.trim().split_once(' '));
    codes.for_each(|(code, text)| entry(&mut roff, code, text));
    roff.control("SH", ["ENVIRONMENT"]);
    VARIABLES.iter().for_each(|(name, text)| entry(&mut roff, name, text));
    roff.control("SH", ["FILES"]);
    entry(&mut roff, "book.toml", "The settings of a book. Its folder is the book.");
    entry(
        &mut roff,
        &files.join(", "),
        "What was recorded, in the same folder, a row for each entry.",
    );
    roff.render()
}

fn entry(roff: &mut Roff, name: &str, text: &str) {
    roff.control("TP", []).text([bold(name)]).text([roman(text)]);
}

fn see_also(words: &str) -> Roff {
    let above = words.rmatch_indices(' ').map(|(at, _)| name_of(&words[..at]));
    let mut names: Vec<String> = above.collect();
    names.extend((!words.is_empty()).then(|| name_of("")));
    let mut roff = Roff::new();
    roff.control("SH", ["SEE ALSO"]);
    for name in &names {
        roff.text([bold(name), roman("(1),")]);
    }
    roff.text([roman("the tutorial and the other documentation that come with the program")]);
    roff
}
