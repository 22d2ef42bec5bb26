//! `report` with a plan: the bench card.

use super::answer_card;
use super::answer_card::{AtBench, CardError, Day};
use super::answer_change::best_change;
use super::draw_card::card_html;
use super::draw_card_content::CardView;
use crate::jobs::fitted::{Bench, Fitted};
use crate::jobs::plan_spec::command::PlanArgs;
use crate::jobs::plan_spec::command_lengths::FoldedArgs;
use crate::jobs::plan_spec::command_lengths::height;
use crate::jobs::plan_spec::command_named::PlanSpec;
use crate::jobs::plan_spec::command_question::refused;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::{Supports, ranges};

/// What a card says besides the plan.
#[derive(Debug, clap::Args)]
pub(crate) struct CardArgs {
    #[command(flatten)]
    folded: FoldedArgs,
    /// Tapes, cords or sewing stations between the kettle stitches [default: 4]
    #[arg(long, value_name = "N")]
    stations: Option<String>,
    /// Height of the book along its spine, for the length of thread [default: 250mm; 10in in a book in inches]
    #[arg(long, value_name = "LENGTH")]
    height: Option<String>,
}

impl CardArgs {
    /// Refuses options of a card if there is no plan.
    pub fn refuse(&self) -> Result<(), CliError> {
        let given = [
            ("--fore-edge", self.folded.is_given()),
            ("--stations", self.stations.is_some()),
            ("--height", self.height.is_some()),
        ];
        match given.iter().find(|(_, given)| *given) {
            None => Ok(()),
            Some((flag, _)) => Err(CliError::Usage(format!(
                "{flag} is for the bench card of a planned book; give the plan too, with --plan \
                 FILE or as for predict"
            ))),
        }
    }

    /// The card of a plan as a page; `made` is today.
    pub fn card(&self, spec: &PlanSpec, known: Fitted<'_>, made: Day) -> Result<String, CliError> {
        let Fitted { book, bench } = known;
        let title = spec.title()?;
        let supports = self.stations.as_deref().map(|text| {
            let count = by_flag("--stations", text, |text| values::whole(text, ranges::SUPPORTS))?;
            by_flag("--stations", text, |_| Supports::new(count).map_err(|error| error.to_string()))
        });
        let height = height(self.height.as_deref(), book)?;
        let at = AtBench { supports: supports.transpose()?.unwrap_or(Supports::USUAL), height };
        let measured = self.folded.measured(known)?;
        let forecast = spec.forecast(known, measured)?;
        let change = best_change(book, bench, &forecast, at).map_err(refused)?;
        Ok(card_html(&CardView {
            config: book.config(),
            made,
            title: title.as_deref(),
            card: &answer_card::card(bench, forecast, at)?,
            change: change.as_ref(),
            height_given: self.height.is_some(),
            supports_given: self.stations.is_some(),
        })?)
    }
}

pub(crate) fn card(
    plan: &PlanArgs,
    args: &CardArgs,
    session: &mut Session<'_>,
) -> Result<String, CliError> {
    let book = session.open_book()?;
    let spec = plan.read(session, &book)?.with_fore_edge(args.folded.typed());
    let bench = Bench::of(&book)?;
    spec.tell_counts(session, &book)?;
    args.card(&spec, Fitted { book: &book, bench: &bench }, session.today())
}

impl From<CardError> for CliError {
    fn from(error: CardError) -> Self {
        match error {
            CardError::Unreached { .. } => Self::value("--stations", error.to_string()),
            CardError::Model(error) => error.into(),
        }
    }
}
