use super::table::*;
use crate::trade::{Name, PlanWords, SavedPlan};
use jiff::civil::Date;

columns! {
    plan: SavedPlan in BookFile::Plans => PlanRow, PlanParts;
    name: Name, needed(A_NAME), Column::new("plan", "ledger", "a name, once"), plan.name.clone();
    made: Date, needed("the day the plan was saved is expected"),
        Column::new("made", "2026-03-14", "the day"), plan.made;
    words: PlanWords, needed("the plan is expected, such as paper=bond 80,thread=linen 25"),
        Column::new("words", "state=sewn; paper=Alder bond", "text, with the keys of \
            a [plan file](plan-files.md): what holds for the whole book, then the runs, separated \
            by `;`, each `key=value` separated by commas; a value with `,` `;` `=` or a quotation \
            mark in it is in double quotes"), plan.words.clone();
}

impl Record for SavedPlan {
    type Row = PlanRow;

    fn made_of(parts: PlanParts) -> Result<Self, Misfit> {
        Ok(Self { name: parts.name?, made: parts.made?, words: parts.words? })
    }
}
