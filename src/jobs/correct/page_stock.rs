//! The page that corrects a paper, a thread or a target.

use super::command_entry::correct;
use super::page_parts::{correcting, correction, doubts, reason};
use crate::book::{Book, EntryKind, Named, entry_named};
use crate::jobs::desk::Desk;
use crate::jobs::record::command_named::Made;
use crate::jobs::record::page_asked::{Again, settled, written};
use crate::jobs::record::page_sewing::plain;
use crate::jobs::record::{
    command_paper, command_target, command_thread, page_paper, page_target, page_thread,
};
use crate::page::field::{Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group};
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::session::Session;
use crate::trade::{Paper, Thread};
use crate::units::{LengthUnit, Millimetres};

/// The page shown after a correction.
pub(super) const THEN: &str = "/stock";

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, Again::default())?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kind = kind_of(form)?;
    let written = match kind {
        EntryKind::Thread => form.args(page_thread::OF_ONE).map(|args| {
            sent(desk, form, kind, |session, book| command_thread::thread_of(&args, session, book))
        }),
        EntryKind::Target => {
            form.args(page_target::FIELDS).map(|mut args: command_target::Args| {
                args.old = form.get("was").and_then(|was| was.parse().ok());
                sent(desk, form, kind, |session, book| {
                    command_target::target_of(&args, session, book)
                })
            })
        }
        _ => form.args(page_paper::OF_A_LEAF).map(|args| {
            sent(desk, form, kind, |session, book| command_paper::paper_of(&args, session, book))
        }),
    };
    settled(desk, form, written, THEN, page)
}

/// Corrects the entry; `new_of` makes the new one from the book without the old one.
fn sent(
    desk: &Desk,
    form: &Form,
    kind: EntryKind,
    new_of: impl FnOnce(&mut Session<'_>, &Book) -> Made,
) -> (Result<String, Turned>, Vec<String>) {
    let of = correction(form, "was");
    written(desk, form, |session, is_sure| {
        correct(kind, &of, doubts(is_sure), session, |session, _, book| new_of(session, book))
    })
}

fn missing() -> Turned {
    Turned::Missing("This entry is not in the book, or it was struck.".to_owned())
}

fn kind_of(form: &Form) -> Result<EntryKind, Turned> {
    let kind = form.get("kind").and_then(|word| word.parse().ok());
    let of_stock = [EntryKind::Paper, EntryKind::Thread, EntryKind::Target];
    kind.filter(|kind| of_stock.contains(kind)).ok_or_else(missing)
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let (book, kind) = (desk.book()?, kind_of(form)?);
    let was = form.get("was").unwrap_or_default();
    let unit = book.config().unit;
    let groups = match kind {
        EntryKind::Thread => thread(found(book.threads(), was)?, unit),
        EntryKind::Target => page_target::groups(Some(found(book.targets(), was)?)),
        _ => paper(found(book.papers(), was)?, unit),
    };
    let seen = book.times_struck(kind, was).to_string();
    let drawn = FormPage {
        links: vec![(THEN.to_owned(), "Leave it as it is", "quiet")],
        kept: vec![("kind", kind.to_string()), ("was", was.to_owned()), ("seen", seen)],
        ..correcting(groups.into_iter().chain([reason()]).collect(), again.asked, desk.seal())
    };
    let words = match kind {
        EntryKind::Target => "",
        _ => "The trials that use it stay with it, with their readings.",
    };
    Ok(drawn.content(format!("Correct {was}"), form, &again.faults).beside(words))
}

fn found<'b, T: Named>(all: &'b [T], was: &str) -> Result<&'b T, Turned> {
    entry_named(all, was).ok_or_else(missing)
}

/// The field of a measured length, however it was measured.
fn figure(
    name: &'static str,
    label: &'static str,
    now: Option<Millimetres>,
    unit: LengthUnit,
) -> Field {
    let now = now.map(|length| plain(length, unit)).unwrap_or_default();
    Field::typed(name, label, Typed::Number).unit(unit.symbol()).offer(now)
}

fn paper(paper: &Paper, unit: LengthUnit) -> Vec<Group> {
    let page_paper::Fields { name, hardness, rest } = page_paper::fields(Some(paper));
    let caliper = figure("caliper", "Caliper of one leaf", Some(paper.caliper()), unit).needed();
    [vec![name], vec![caliper], vec![hardness], rest].map(Group::Each).into()
}

fn thread(thread: &Thread, unit: LengthUnit) -> Vec<Group> {
    let page_thread::Fields { name, label, rest } = page_thread::fields(Some(thread));
    let laid = figure("laid", "Diameter as it lies", thread.laid(), unit);
    let each = |fields| Group::Each(fields);
    vec![each(vec![name]), each(vec![laid]), Group::Beside(label), each(rest)]
}
