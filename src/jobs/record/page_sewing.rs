//! The form fields of a trial, for a new one and for one to correct.

use super::answer_offered::{free_name, last_trial, tells_hands_apart};
use crate::book::Book;
use crate::jobs::plan_spec::page_fields::{papers, patterns, threads};
use crate::page::field::{Choice, Field, Typed};
use crate::page::form_page::Group;
use crate::trade::{Name, Sewing, Trial, TrialKind};
use crate::units::{LengthUnit, Millimetres};

/// The names of the fields as sent.
pub(crate) const FIELDS: &[&str] = &[
    "trial", "date", "kind", "paper", "thread", "sections", "sheets", "on", "ends", "boned",
    "guards", "hand", "note",
];

/// Sections and sheets of a usual trial block, filled in if the book has no trial.
const USUAL: (u16, u16) = (10, 4);

/// The values filled in.
pub(crate) struct Offer<'b> {
    name: String,
    date: String,
    kind: TrialKind,
    /// The trial that provides the other values.
    like: Option<&'b Trial>,
    guards: String,
    note: &'b str,
}

impl<'b> Offer<'b> {
    /// For a new trial: the values of the last one, with a new name.
    pub fn next(book: &'b Book) -> Self {
        Self {
            name: free_name(book),
            date: "today".to_owned(),
            kind: TrialKind::Block,
            like: last_trial(book),
            guards: String::new(),
            note: "",
        }
    }

    /// For a correction: the trial as it is.
    pub fn of(trial: &'b Trial, unit: LengthUnit) -> Self {
        let date = trial.date.map_or_else(|| "unknown".to_owned(), |date| date.to_string());
        Self {
            name: trial.name.to_string(),
            date,
            kind: trial.kind,
            like: Some(trial),
            guards: plain(trial.guards, unit),
            note: &trial.note,
        }
    }

    pub fn name(&self) -> &str {
        &self.name
    }

    /// The fields filled in for every trial.
    pub fn groups(&self, book: &Book) -> Vec<Group> {
        let like = |name: fn(&Trial) -> &Name| self.like.map_or("", |trial| name(trial).as_str());
        let sewing = self.like.map(|trial| trial.sewing);
        let (sections, sheets) = sewing.map_or(USUAL, |it| (it.sections(), it.sheets()));
        let on = sewing.map_or(1, Sewing::on).to_string();
        let boned = self.like.is_some_and(|trial| trial.boned);
        let count = |name, label| Field::typed(name, label, Typed::Count).needed();
        vec![
            Group::Beside(vec![
                papers(book).offer(like(|trial| &trial.paper)),
                threads(book).offer(like(|trial| &trial.thread)),
            ]),
            Group::Beside(vec![
                count("sections", "Sections").offer(sections.to_string()),
                count("sheets", "Sheets in a section").offer(sheets.to_string()),
            ]),
            Group::Each(vec![
                patterns(Some(&on)).offer(on),
                Field::yes("boned", "Folds boned").offer(if boned { "yes" } else { "" }),
            ]),
        ]
    }

    /// The fields filled in less often.
    pub fn folded(&self, book: &Book) -> Vec<Group> {
        let kinds = TrialKind::ALL.map(|kind| match kind {
            TrialKind::Block => Choice::new(kind.word(), "trial block"),
            TrialKind::Book => Choice::new(kind.word(), "finished book"),
        });
        let ends = self.like.map(|trial| trial.sewing.separate_ends()).unwrap_or_default();
        let hand = self.like.and_then(|trial| trial.hand.as_ref()).map_or("", Name::as_str);
        let hand = Field::text("hand", "Who sewed it").offer(hand);
        let fields = [
            Field::text("trial", "Name").offer(self.name.as_str()).needed(),
            Field::typed("date", "Sewn on", Typed::Day)
                .offer(self.date.as_str())
                .hint("2026-03-02, yesterday or unknown"),
            Field::choice("kind", "This is a", kinds.to_vec()).offer(self.kind.word()),
            Field::typed("ends", "Sections at each end all along", Typed::Counts)
                .offer(ends.to_string())
                .hint("3+4 if the first and the last differ"),
            Field::typed("guards", "Guards, together", Typed::Number)
                .unit(book.config().unit.symbol())
                .offer(self.guards.as_str())
                .hint("What repairs add at the fold"),
        ];
        let hand = tells_hands_apart(book).then_some(hand);
        let note = Field::text("note", "Note").offer(self.note);
        vec![Group::Beside(fields.into_iter().chain(hand).collect()), Group::Each(vec![note])]
    }
}

/// A length as it is typed, without its unit; empty for 0.
pub(crate) fn plain(length: Millimetres, unit: LengthUnit) -> String {
    if length.mm() == 0.0 {
        return String::new();
    }
    // Nine decimals keep a millionth of a millimetre in any unit.
    let text = format!("{:.9}", unit.count(length));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
