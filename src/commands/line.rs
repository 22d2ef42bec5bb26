//! A refused command line, matched against the commands as far as it goes.

use super::meant;
use crate::terminal::session::quoted;
use crate::units::shown_whole;
use clap::{Arg, Command};
use std::ffi::OsString;

pub(super) struct Line<'a> {
    pub command: &'a Command,
    /// Its full name: `swellbook record paper`.
    pub path: String,
    whole: &'a Command,
    words: Vec<String>,
}

impl<'a> Line<'a> {
    /// Finds the command in `args`, which begin with the program's name.
    pub fn of(whole: &'a Command, args: &[OsString]) -> Self {
        let words = args.iter().skip(1).map(|arg| shown_whole(&arg.to_string_lossy()));
        let words: Vec<String> = words.collect();
        let (mut command, mut path, mut start, mut at) = (whole, "swellbook".to_owned(), 0, 0);
        while let Some(word) = words.get(at) {
            at += 1;
            if word.starts_with('-') {
                at += usize::from(takes_value(command, word));
                continue;
            }
            let Some(found) = command.find_subcommand(word) else { break };
            (command, start) = (found, at);
            path = format!("{path} {}", found.get_name());
        }
        Self { command, path, whole, words: words.into_iter().skip(start).collect() }
    }

    pub fn help(&self) -> String {
        format!("`{} --help`", self.path)
    }

    pub fn commands_with(&self, option: &str) -> Vec<String> {
        fn search(command: &Command, path: &str, option: &str, found: &mut Vec<String>) {
            for inner in command.get_subcommands().filter(|inner| inner.get_name() != "help") {
                let path = format!("{path} {}", inner.get_name());
                if meant::options(inner).contains(&option) {
                    found.push(format!("`{}`", path.trim()));
                }
                search(inner, &path, option, found);
            }
        }
        let mut found = Vec::new();
        search(self.whole, "", option, &mut found);
        found
    }

    /// The whole word that begins with `typed`: of several letters after one dash, clap names only
    /// one.
    pub fn word_begun<'w>(&'w self, typed: &'w str) -> &'w str {
        self.words.iter().find(|word| word.starts_with(typed)).map_or(typed, String::as_str)
    }

    /// Whether this option was typed, with or without a value after `=`.
    pub fn has_option(&self, option: &str) -> bool {
        self.words.iter().any(|word| word.split('=').next() == Some(option))
    }

    /// The first option that the command does not have.
    pub fn misspelt(&self, options: &[&str]) -> Option<&str> {
        let words = self.words.iter().map(String::as_str).take_while(|word| *word != "--");
        let mut names = words.filter(|word| word.starts_with("--"));
        names.find(|word| {
            let name = word[2..].split('=').next().unwrap_or_default();
            name != "help" && !options.contains(&name)
        })
    }

    /// Whether another word that is not an option follows the loose word `typed`.
    pub fn has_word_behind(&self, typed: &str) -> bool {
        let mut pairs = self.words.windows(2);
        pairs.any(|pair| pair[0] == typed && !pair[1].starts_with('-'))
    }

    /// How to quote the value that the loose word `typed` is part of.
    pub fn quoted_at(&self, typed: &str) -> Option<String> {
        let is_loose = |at: &usize| self.words[*at] == typed && self.is_loose(*at);
        (0..self.words.len()).find(is_loose).and_then(|at| self.quoted(at))
    }

    /// How to quote the first value of several words.
    pub fn quoted_first(&self) -> Option<String> {
        (1..self.words.len()).find(|at| self.is_loose(*at)).and_then(|at| self.quoted(at))
    }

    /// Whether the word at `at` follows another word or an `--option=value`, so that it may be the
    /// second word of a value without quotes.
    fn is_loose(&self, at: usize) -> bool {
        let is_word = |at: usize| self.words.get(at).is_some_and(|word| !word.starts_with('-'));
        let before = at.checked_sub(1);
        is_word(at)
            && before.is_some_and(|before| is_word(before) || self.words[before].contains('='))
    }

    /// The words around `at` quoted as one value, of the option before them or of the command.
    fn quoted(&self, at: usize) -> Option<String> {
        let is_option = |word: &&String| word.starts_with('-');
        let start = self.words[..at].iter().rposition(|word| is_option(&word));
        let is_over =
            |word: &String| is_option(&word) || self.command.find_subcommand(word).is_some();
        let end = self.words[at..].iter().position(is_over);
        let end = end.map_or(self.words.len(), |behind| at + behind);
        let Some(option) = start else { return self.quoted_names(&self.words[..end]) };
        let words = &self.words[option + 1..end];
        let better = match self.words[option].split_once('=') {
            Some((option, first)) => {
                let first = first.to_owned();
                format!("{option} {}", one_value(&[std::slice::from_ref(&first), words].concat()))
            }
            None if takes_value(self.command, &self.words[option]) => {
                format!("{} {}", self.words[option], one_value(words))
            }
            None => return self.quoted_names(words),
        };
        Some(format!("write a value with a space as one word: {better}"))
    }

    /// The same for words that no option takes: the name, then the other arguments of the command.
    fn quoted_names(&self, words: &[String]) -> Option<String> {
        let takes_each = |arg: &Arg| {
            arg.get_num_args().is_some_and(|range| range.max_values() > 1)
                || !arg.get_possible_values().is_empty()
        };
        if self.command.get_positionals().any(takes_each) {
            return None;
        }
        let taken = self.command.get_positionals().count();
        let is_figure = |word: &String| word.starts_with(|c: char| c.is_ascii_digit());
        let name = match taken {
            0 => return None,
            1 => words.len(),
            _ => words.iter().skip(1).position(is_figure).map_or(words.len(), |at| at + 1),
        };
        let (name, rest) = words.split_at_checked(name)?;
        if name.len() < 2 && rest.len() < 2 {
            return None;
        }
        let rest = match rest {
            [] => String::new(),
            [low, high] if is_figure(high) => format!(" {low}..{high}"),
            rest => format!(" {}", quoted(&rest.join(" "))),
        };
        let better = format!("{} {}{rest}", self.path, one_value(name));
        Some(format!("write a value with a space as one word: {better}"))
    }
}

/// Joins words into one value: a number with its unit, or all of them in quotes.
fn one_value(words: &[String]) -> String {
    let is_number = |word: &str| word.trim_matches(['+', '.', ',']).parse::<f64>().is_ok();
    match words {
        [number, unit] if is_number(number) && unit.starts_with(|c: char| c.is_alphabetic()) => {
            quoted(&format!("{number}{unit}"))
        }
        words => quoted(&words.join(" ")),
    }
}

/// Whether an option, as typed, takes the next word as its value.
fn takes_value(command: &Command, typed: &str) -> bool {
    let takes =
        |arg: &&Arg| arg.get_long().is_some_and(|long| typed.strip_prefix("--") == Some(long));
    command.get_arguments().find(takes).is_some_and(|arg| arg.get_action().takes_values())
}
