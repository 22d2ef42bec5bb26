//! Messages for a command line that is not understood: what was found, and what to type.

use super::line::Line;
use super::meant;
use crate::terminal::refusal::missing_text;
use crate::terminal::suggest::closest;
use crate::units::shown;
use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::ffi::OsString;

/// The message for clap's `error` about `args`, which begin with the program's name.
pub(super) fn usage_text(error: &clap::Error, mut whole: Command, args: &[OsString]) -> String {
    whole.build();
    let line = Line::of(&whole, args);
    let said = |kind| named(error, kind);
    match (error.kind(), said(ContextKind::InvalidArg).first()) {
        (ErrorKind::UnknownArgument, Some(typed)) => {
            // A misspelt option is taken for the bounds of a target, and its value is then too much.
            let loose = !typed.starts_with('-');
            let misspelt = loose.then(|| line.misspelt(&meant::options(line.command))).flatten();
            unknown(&line, misspelt.unwrap_or(typed))
        }
        (ErrorKind::MissingRequiredArgument, _) => {
            let missing = said(ContextKind::InvalidArg);
            let missing: Vec<String> =
                missing.iter().map(|arg| bare(arg).replace('|', " or ")).collect();
            format!("{} (see {})", missing_text(&missing), line.help())
        }
        (ErrorKind::ArgumentConflict, Some(arg)) => {
            conflict(&line, arg, &said(ContextKind::PriorArg))
        }
        (ErrorKind::InvalidValue, Some(arg)) => value(error, arg),
        (ErrorKind::TooManyValues, Some(arg)) => {
            format!("{} takes no value; leave out what follows the =", bare(arg))
        }
        (ErrorKind::InvalidUtf8, _) => "a word is not text in UTF-8; type it again".to_owned(),
        _ => match said(ContextKind::InvalidSubcommand).first() {
            Some(typed) => unknown_command(&line, typed),
            None if line.command.has_subcommands() => {
                let names = meant::commands(line.command).join(", ");
                format!("{} needs one of {names} after it (see {})", line.path, line.help())
            }
            None => format!("the command line is not understood (see {})", line.help()),
        },
    }
}

/// The texts of one kind that clap's error carries.
fn named(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::String(text)) => vec![text.clone()],
        Some(ContextValue::Strings(texts)) => texts.clone(),
        _ => Vec::new(),
    }
}

/// An argument as it is typed: `--paper` of `--paper <NAME>`, `SHEET` of `<SHEET>` or `[SHEET]`.
fn bare(arg: &str) -> &str {
    let name = arg.trim_start_matches(['<', '[']);
    name.split([' ', '=', '[', '.', '>', ']']).next().unwrap_or(name)
}

fn unknown(line: &Line<'_>, typed: &str) -> String {
    if !typed.starts_with('-') {
        return loose_word(line, typed);
    }
    let option = typed.split('=').next().unwrap_or(typed);
    let (found, path) = (shown(option), &line.path);
    let Some(name) = option.strip_prefix("--") else {
        return one_dash(line, option);
    };
    if line.has_option("--") && meant::options(line.command).contains(&name) {
        return format!(
            "{found} comes after --, where every word is a value; write it before the --"
        );
    }
    let advice =
        meant::option(line.command, name).unwrap_or_else(|| match &line.commands_with(name)[..] {
            [] => listed(line),
            others => format!("it belongs to {}", others.join(", ")),
        });
    format!("{path} has no option {found}; {advice}")
}

/// Lists the options of the command.
fn listed(line: &Line<'_>) -> String {
    let names: Vec<String> =
        meant::options(line.command).iter().map(|name| format!("--{name}")).collect();
    format!("it has {} (see {})", names.join(", "), line.help())
}

/// An option of one letter, or a long one typed with a single dash.
fn one_dash(line: &Line<'_>, typed: &str) -> String {
    let whole = line.word_begun(typed);
    let advice = meant::option(line.command, whole.trim_start_matches('-'));
    let advice = advice.unwrap_or_else(|| {
        format!("options are written out, such as --help (see {})", line.help())
    });
    format!("'{}' is not an option; {advice}", shown(whole))
}

/// A word that belongs to no option: usually the second word of a name without quotes.
fn loose_word(line: &Line<'_>, typed: &str) -> String {
    let (found, better) = (shown(typed), line.quoted_at(typed));
    // Word processors turn two hyphens into one long dash.
    let bare = typed.trim_start_matches(['\u{2013}', '\u{2014}']);
    let is_option = meant::options(line.command).contains(&bare);
    // A folder may well be named `book`, like the option that every command has.
    if is_option && (better.is_none() || line.has_word_behind(typed) && typed != "book") {
        return format!("'{found}' needs two dashes in front; did you mean --{bare}?");
    }
    match better {
        Some(better) => format!("'{found}' does not belong to an option; {better}"),
        None => format!("{} does not take the word '{found}'; {}", line.path, listed(line)),
    }
}

fn conflict(line: &Line<'_>, arg: &str, prior: &[String]) -> String {
    let (arg, prior) = (bare(arg), prior.iter().map(|arg| bare(arg)).collect::<Vec<_>>());
    if prior.contains(&arg) || prior.is_empty() {
        return format!("{arg} is given twice; give it once");
    }
    // Of options that exclude each other as a group, only those typed are in the way.
    let typed: Vec<&str> = prior.iter().copied().filter(|name| line.has_option(name)).collect();
    let prior = if typed.is_empty() { prior } else { typed };
    let is_word = |name: &&str| !name.starts_with('-');
    let quoting = [arg].iter().chain(&prior).any(is_word).then(|| line.quoted_first()).flatten();
    let quoting = quoting.map(|better| format!(" ({better})")).unwrap_or_default();
    let others = prior.join(" and ");
    format!("{arg} cannot be combined with {others}; leave out one or the other{quoting}")
}

fn value(error: &clap::Error, arg: &str) -> String {
    let found = named(error, ContextKind::InvalidValue).concat();
    let allowed = named(error, ContextKind::ValidValue);
    let allowed: Vec<&str> = allowed.iter().map(String::as_str).collect();
    match (found.as_str(), &allowed[..]) {
        ("", []) => format!("{} needs a value after it: {arg}", bare(arg)),
        ("", allowed) => format!("{} needs a value: one of {}", bare(arg), allowed.join(", ")),
        (found, allowed) => {
            let near = closest(found, allowed).map(|near| format!("; did you mean '{near}'?"));
            let (flag, found, allowed) = (bare(arg), shown(found), allowed.join(", "));
            format!("{flag}: '{found}' is not one of {allowed}{}", near.unwrap_or_default())
        }
    }
}

fn unknown_command(line: &Line<'_>, typed: &str) -> String {
    let (found, path) = (shown(typed), &line.path);
    if typed.starts_with('-') {
        return unknown(line, typed);
    }
    let advice = meant::command(line.command, typed).unwrap_or_else(|| {
        let quoting = line.quoted_at(typed).map(|better| format!("{better}; ")).unwrap_or_default();
        let names = meant::commands(line.command).join(", ");
        format!("{quoting}it has {names} (see {})", line.help())
    });
    format!("{path} has no command '{found}'; {advice}")
}
