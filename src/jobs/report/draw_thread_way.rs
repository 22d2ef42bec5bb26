//! Describes the path of the thread through a book in a binder's words.

use super::answer_card::{Card, CardRun};
use crate::jobs::plan_spec::text::pattern_words;
use crate::terminal::number::plural;
use crate::trade::{Stretch, Supports};

/// A path with more spans than this is abridged.
const MOST_SPANS: usize = 12;

/// What the supports are, and how they are counted.
pub(crate) fn supports_words(supports: Supports, said: bool) -> String {
    let count = supports.count();
    let unsaid = if said { "" } else { ", assumed as none were given" };
    let (noun, numbers) = match count {
        1 => ("support", ""),
        _ => ("supports", ", counted from where the thread goes in"),
    };
    format!(
        "{count} {noun} (tapes, cords, or pairs of holes{unsaid}) between the kettle \
         stitches{numbers}. The next traverse comes back."
    )
}

/// The legend of the drawing.
pub(crate) const STROKES: &str = " Dashes: inside a fold.";

/// What to do at the ends of the traverses (common practice, no source).
pub(crate) fn kettle_words(card: &Card) -> &'static str {
    let stretches = || card.runs.iter().flat_map(|run| &run.stretches);
    let traverses: u32 = stretches().map(|stretch| u32::from(stretch.traverses)).sum();
    match traverses {
        1 => "Tie both ends of the thread off at the kettles.",
        2 => {
            "At the end of the first traverse go up into the next section; at the end of the second \
             tie the thread to the loose end of the first, and tie off."
        }
        _ => {
            "At the end of each traverse go up into the next section. Tie the second traverse to \
             the loose end of the first; from the third on make a kettle stitch round the link of \
             the sections below. Tie the last off with two."
        }
    }
}

/// A path of the thread, and the sections sewn that way.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    /// `Sections 1 to 3, all along.`, one for each stretch sewn that way. If the book has several
    /// stretches, each is numbered in the order of sewing.
    pub who: Vec<String>,
    /// The same, also naming the sections that share a traverse.
    long: Vec<String>,
    /// The first of these stretches.
    pub stretch: Stretch,
}

/// The paths of the thread through a book, each once, in the order of sewing.
pub(crate) fn told(card: &Card) -> Vec<Told> {
    let mut ways: Vec<Told> = Vec::new();
    let joined = joined(card);
    let several = joined.len() > 1;
    for (at, Joined { before, stretch, changed }) in joined.into_iter().enumerate() {
        let counted = if several { format!("{}. ", at + 1) } else { String::new() };
        let changed = changed.unwrap_or_default();
        let words = |is_long| format!("{counted}{}{changed}", who(&stretch, before, is_long));
        let (who, long) = (words(false), words(true));
        match ways.iter_mut().find(|way| way.stretch.spans == stretch.spans) {
            Some(way) => {
                way.who.push(who);
                way.long.push(long);
            }
            None => ways.push(Told { who: vec![who], long: vec![long], stretch }),
        }
    }
    ways
}

/// Neighbouring stretches that are sewn alike with one thread, as one.
struct Joined {
    /// Sections of the book before the run of the first of them.
    before: u32,
    /// The first of them, with the traverses of all.
    stretch: Stretch,
    /// Which thread to go on with, if it changes.
    changed: Option<String>,
}

fn joined(card: &Card) -> Vec<Joined> {
    let mut joined: Vec<Joined> = Vec::new();
    for (at, run) in card.runs.iter().enumerate() {
        let earlier = at.checked_sub(1).and_then(|before| card.runs.get(before));
        for (place, stretch) in run.stretches.iter().enumerate() {
            let changed = (place == 0).then(|| changed_thread(earlier, run)).flatten();
            match joined.last_mut() {
                Some(last) if changed.is_none() && last.stretch.spans == stretch.spans => {
                    let traverses = last.stretch.traverses.saturating_add(stretch.traverses);
                    last.stretch.traverses = traverses;
                }
                _ => joined.push(Joined { before: run.before, stretch: stretch.clone(), changed }),
            }
        }
    }
    joined
}

/// The paths in words alone, for readers who cannot see the drawing.
pub(crate) fn stretches(card: &Card) -> Vec<String> {
    let said = |way: &Told| format!("{} {}", way.long.join(" "), self::way(&way.stretch));
    told(card).iter().map(said).collect()
}

/// The first and last section of every traverse, in the order of sewing.
pub(crate) fn traverses(card: &Card) -> Vec<(u32, u32)> {
    let of = |run: &CardRun| {
        let before = run.before;
        let each = run.stretches.iter().flat_map(move |stretch| {
            let on = u32::try_from(stretch.on).unwrap_or(u32::MAX);
            stretch.ends().map(move |end| (before + end + 1 - on, before + end))
        });
        each.collect::<Vec<_>>()
    };
    card.runs.iter().flat_map(of).collect()
}

fn changed_thread(before: Option<&CardRun>, run: &CardRun) -> Option<String> {
    let before = &before?.run.thread.name;
    let name = &run.run.thread.name;
    (before != name).then(|| format!(" Go on with {name}."))
}

/// `Sections 4 to 21`.
fn sections(stretch: &Stretch, before: u32) -> String {
    let (first, last) = (before + u32::from(stretch.first), before + u32::from(stretch.last()));
    match last - first {
        0 => format!("Section {first}"),
        1 => format!("Sections {first} and {last}"),
        _ => format!("Sections {first} to {last}"),
    }
}

/// `Sections 4 to 21, two-on.`, and if `is_long` also which sections share a traverse:
/// `Sections 4 to 21, two-on: 9 traverses (4 with 5, 6 with 7, to 20 with 21).`
fn who(stretch: &Stretch, before: u32, is_long: bool) -> String {
    let on = u8::try_from(stretch.on).map_or("several at a time", pattern_words);
    let shared = match stretch.on {
        _ if !is_long => String::new(),
        1 if stretch.traverses > 1 => ", each on a traverse of its own".to_owned(),
        1 => String::new(),
        _ => {
            let traverses = plural(stretch.traverses.into(), "traverse");
            format!(": {traverses} ({})", groups(stretch, before))
        }
    };
    format!("{}, {on}{shared}.", sections(stretch, before))
}

/// The sections that share a traverse.
fn groups(stretch: &Stretch, before: u32) -> String {
    let on = u32::try_from(stretch.on).unwrap_or(u32::MAX);
    let group = |end: u32| {
        let sections: Vec<String> =
            (end + 1 - on..=end).map(|section| (before + section).to_string()).collect();
        sections.join(" with ")
    };
    let mut ends: Vec<String> = stretch.ends().map(group).collect();
    if ends.len() > 3 {
        let last = ends.pop().unwrap_or_default();
        ends.truncate(2);
        return format!("{}, to {last}", ends.join(", "));
    }
    ends.join(", ")
}

fn way(stretch: &Stretch) -> String {
    let supports = stretch.spans.len() - 1;
    if stretch.on == 1 {
        let places = match supports {
            1 => "at support 1".to_owned(),
            2 => "at supports 1 and 2".to_owned(),
            _ => format!("at each of supports 1 to {supports}"),
        };
        return format!(
            "In at the kettle and along the fold; out, round and in again {places}; along to the \
             other kettle and out."
        );
    }
    let span = |at: usize| {
        let name = section_name(usize::from(stretch.spans[at]), stretch.on);
        match (at, at == supports) {
            (0, _) => format!("from the kettle to 1 in the {name} section"),
            (_, true) => format!("{at} to the other kettle in the {name}"),
            (_, false) => format!("{at} to {} in the {name}", at + 1),
        }
    };
    let told = if supports < MOST_SPANS { supports } else { 2 * stretch.on };
    let mut spans: Vec<String> = (0..told).map(span).collect();
    if told < supports {
        spans.push("and so on in turn".to_owned());
    }
    spans.push(span(supports));
    format!(
        "The thread lies {}. At each support it comes out of one section, goes round, and in at the \
         same place of the next.",
        spans.join(", ")
    )
}

/// The name of a section among those of one traverse, counted from 0.
fn section_name(place: usize, on: usize) -> &'static str {
    match (place, on) {
        (0, 2 | 3) => "lower",
        (1, 2) | (2, 3) => "upper",
        (1, 3) => "middle",
        (0, _) => "first",
        (1, _) => "second",
        (2, _) => "third",
        (3, _) => "fourth",
        (4, _) => "fifth",
        (_, _) => "sixth",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::Sewing;

    fn told(sections: u16, on: u8, ends: u16, supports: u8) -> Vec<String> {
        let sewing = Sewing::new(sections, 4, on, ends).unwrap();
        let stretches = sewing.stretches(Supports::new(supports).unwrap());
        stretches.iter().map(|one| format!("{} {}", who(one, 0, true), way(one))).collect()
    }

    #[test]
    fn all_along_goes_from_kettle_to_kettle_in_one_fold() {
        assert_eq!(
            told(24, 1, 0, 4),
            ["Sections 1 to 24, all along, each on a traverse of its own. In at the kettle and \
              along the fold; out, round and in again at each of supports 1 to 4; along to the \
              other kettle and out."]
        );
    }

    #[test]
    fn two_on_is_told_support_by_support() {
        let lines = told(24, 2, 3, 4);
        assert!(lines[0].starts_with("Sections 1 to 3, all along"));
        let pairs = "Sections 4 to 21, two-on: 9 traverses (4 with 5, 6 with 7, to 20 with 21).";
        assert!(lines[1].starts_with(pairs), "{}", lines[1]);
        let way = "The thread lies from the kettle to 1 in the lower section, 1 to 2 in the upper, \
                   2 to 3 in the lower, 3 to 4 in the upper, 4 to the other kettle in the lower.";
        assert!(lines[1].contains(way), "{}", lines[1]);
    }

    #[test]
    fn three_on_has_a_middle_and_what_is_left_over_its_own_line() {
        let lines = told(14, 3, 3, 4);
        assert_eq!(lines.len(), 4);
        assert!(lines[1].contains("(4 with 5 with 6, 7 with 8 with 9)"), "{}", lines[1]);
        assert!(lines[1].contains("1 to 2 in the middle, 2 to 3 in the upper"), "{}", lines[1]);
        assert!(lines[2].starts_with("Sections 10 and 11, two-on: 1 traverse (10 with 11)."));
    }

    #[test]
    fn many_supports_are_told_in_short() {
        let lines = told(4, 2, 0, 60);
        assert!(lines[0].len() < 500, "{}", lines[0]);
        assert!(lines[0].contains("and so on in turn, 60 to the other kettle in the lower"));
    }
}
