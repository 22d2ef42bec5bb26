//! Pictures in the terminal: plain in a plain locale, and coloured only where it is wanted.

use crate::support::folder::{Folder, PROGRAM, TOUR_PLAN};

const FIT: &[&str] = &["fit"];
const PLAN: &[&str] =
    &["plan", "--paper", "Alder bond", "--leaves", "192", "--target", "rounded-backed"];

/// A command about one book with this target.
fn about_one(command: &'static str, more: &[&'static str]) -> Vec<&'static str> {
    [&[command], &TOUR_PLAN[..], &["--target", "rounded-backed"], more].concat()
}

fn predict() -> Vec<&'static str> {
    about_one("predict", &[])
}

fn midway() -> Vec<&'static str> {
    about_one("midway", &["--sewn", "8", "--spine", "9.60,9.66", "--fore-edge", "6.86,6.90"])
}

/// The output of a command on the tour's book, with these variables set.
fn printed(folder: &Folder, args: &[&str], variables: &[(&str, &str)]) -> String {
    let mut command = folder.command(PROGRAM);
    command.args(["--book", "tour"]).args(args).envs(variables.iter().copied());
    let output = command.output().expect("the program runs");
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn every_view_has_its_picture_and_no_colour_codes_in_a_pipe() {
    let folder = Folder::toured();
    for args in [FIT, &predict(), PLAN, &midway()] {
        let text = printed(&folder, args, &[]);
        assert!(text.contains('━') && text.contains("● the middle"), "{text}");
        assert!(!text.contains('\x1b'), "{text:?}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
}

/// A new terminal has 24 lines. What scrolls away is not read.
#[test]
fn an_answer_about_one_book_fits_a_terminal() {
    let folder = Folder::toured();
    let long = [&["predict"], &TOUR_PLAN[..4], &["--sections", "60", "--sheets", "4", "--on", "2"]]
        .concat();
    let untried = [
        &["predict"],
        &TOUR_PLAN[..2],
        &["--thread", "new cord", "--laid", "0.9mm", "--leaves", "190", "--sheets", "4"],
        &["--target", "rounded"],
    ];
    let mut doubtful = midway();
    doubtful[14] = "9.94,9.99,9.90";
    for args in [predict(), long, untried.concat(), midway(), doubtful] {
        let text = printed(&folder, &args, &[]);
        assert!(text.lines().count() <= 24, "{} lines: {text}", text.lines().count());
        assert!(text.contains("Based on 14 trials"), "{text}");
    }
}

#[test]
fn the_bounds_of_the_target_stand_under_the_scale() {
    let folder = Folder::toured();
    for args in [&predict()[..], PLAN, &midway()] {
        let text = printed(&folder, args, &[]);
        let lines: Vec<&str> = text.lines().collect();
        let key = lines.iter().position(|line| line.contains("░ the target")).expect("a key");
        let (bars, ruler) = (lines[key - 2], lines[key - 1]);
        let numbers: Vec<&str> = ruler.split_whitespace().collect();
        assert!(numbers.contains(&"25") && numbers.contains(&"35"), "{ruler}");
        let end = ruler.find("35").expect("a bound");
        let band = bars.chars().enumerate().filter(|(_, c)| "░▓".contains(*c)).last();
        let last = band.map(|(cell, _)| cell).expect("a band");
        assert!((end..=end + 2).contains(&last), "{bars}\n{ruler}");
    }
}

#[test]
fn a_plain_locale_has_plain_characters() {
    let folder = Folder::toured();
    for args in [FIT, &predict(), PLAN, &midway()] {
        let text = printed(&folder, args, &[("LC_ALL", "C")]);
        let foreign: String = text.chars().filter(|c| !c.is_ascii() && *c != '×').collect();
        assert_eq!(foreign, "", "{text}");
        assert!(text.contains("= 90 % range, ") && text.contains("o the middle"), "{text}");
        assert!(text.contains("==o") || text.contains("##o"), "{text}");
    }
}

#[cfg(unix)]
mod at_a_terminal {
    use super::{FIT, PLAN, midway, predict, printed};
    use crate::support::folder::{Folder, PROGRAM};
    use crate::support::terminal::Terminal;

    fn shown(folder: &Folder, args: &[&str], variables: &[(&str, &str)]) -> String {
        let mut command = folder.command(PROGRAM);
        command.args(["--book", "tour"]).args(args).env("TERM", "xterm");
        command.envs(variables.iter().copied());
        let mut terminal = Terminal::start(command);
        // The terminal gives every byte as one character.
        let bytes = terminal.rest().chars().map(|c| u8::try_from(c).expect("a byte")).collect();
        String::from_utf8(bytes).expect("text").replace("\r\n", "\n")
    }

    /// A text without its colour codes.
    fn bare(text: &str) -> String {
        let mut parts = text.split("\x1b[");
        let first = parts.next().unwrap_or_default().to_owned();
        parts.fold(first, |bare, part| bare + part.split_once('m').expect("a code's end").1)
    }

    #[test]
    fn colour_is_used_and_says_nothing_that_the_signs_do_not() {
        let folder = Folder::toured();
        for args in [FIT, &predict(), PLAN, &midway()] {
            let text = shown(&folder, args, &[]);
            assert!(text.contains("\x1b[1m━"), "{text:?}");
            assert_eq!(bare(&text), printed(&folder, args, &[]));
        }
    }

    #[test]
    fn colour_is_left_out_where_it_is_unwanted() {
        let folder = Folder::toured();
        for unwanted in [("NO_COLOR", "1"), ("TERM", "dumb"), ("CLICOLOR", "0")] {
            let text = shown(&folder, &predict(), &[unwanted]);
            assert!(text.contains('━') && !text.contains('\x1b'), "{unwanted:?}: {text:?}");
        }
    }
}
