//! Describes a way to sew a book, and its cautions, in words.

use super::text::{pattern_words, sewing_words};
use crate::jobs::plan::answer::Choice;
use crate::jobs::plan::answer_way::Way;
use crate::terminal::number::plural;
use crate::trade::{
    Caution, Name, SUPPORTS_FOR_THREE_ON, Sewing, THICK_THREAD_MM, THIN_THREAD_MM, WANTED_ENDS,
};
use crate::units::LengthUnit;

pub(crate) fn way_words(way: &Way) -> String {
    let sewing = way.sewing;
    format!(
        "{}, {} of {}, {}{}",
        way.thread.name,
        plural(usize::from(sewing.sections()), "section"),
        plural(usize::from(sewing.sheets()), "sheet"),
        sewing_words(sewing),
        if way.boned { ", boned" } else { "" }
    )
}

/// `20 sections of 5, flax 25/3`.
pub(crate) fn short_words(sewing: Sewing, thread: &Name) -> String {
    let sections = plural(usize::from(sewing.sections()), "section");
    format!("{sections} of {}, {thread}", sewing.sheets())
}

pub(crate) fn blank(leaves: u32) -> String {
    if leaves == 0 { String::new() } else { leaves.to_string() }
}

/// The numbers of its cautions in the list of all.
pub(crate) fn note_numbers(choice: &Choice, notes: &[Caution]) -> String {
    let own = (1_usize..).zip(notes).filter(|(_, note)| choice.cautions.contains(note));
    own.map(|(number, _)| number.to_string()).collect::<Vec<_>>().join(" ")
}

/// `two-on, boned`; names the ends unless they are [`WANTED_ENDS`], which the closing lines name.
pub(crate) fn sewn(way: &Way) -> String {
    let ends = match (way.sewing.on(), way.sewing.first(), way.sewing.last()) {
        (1, ..) | (_, WANTED_ENDS, WANTED_ENDS) => String::new(),
        _ => format!(", ends {}", way.sewing.ends_text()),
    };
    format!("{}{ends}{}", pattern_words(way.sewing.on()), if way.boned { ", boned" } else { "" })
}

/// A caution with lengths in `unit`, as one sentence without its full stop.
pub(crate) fn caution_words(caution: Caution, unit: LengthUnit) -> String {
    match caution {
        Caution::ThinThread => {
            format!("a thread under about {} may cut the paper", unit.shown(THIN_THREAD_MM))
        }
        Caution::ThickThread => {
            format!("a thread over about {} is a thin cord", unit.shown(THICK_THREAD_MM))
        }
        Caution::SkippedKettles => "several sections to a traverse skip kettle stitches and hold \
                                    less securely; sew the first and last three or four all along"
            .to_owned(),
        Caution::ShortEnds => {
            "too few sections for three at each end to be sewn all along".to_owned()
        }
        Caution::FewSupports => format!(
            "three-on needs at least {SUPPORTS_FOR_THREE_ON} tapes, cords or sewing stations"
        ),
        Caution::ThickSections => "sections this thick do not fold well".to_owned(),
    }
}
