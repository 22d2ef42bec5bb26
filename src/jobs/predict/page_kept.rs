//! The page of a kept forecast, with what to do next.

use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::jobs::keep::page_ways::{Ways, ways};
use crate::jobs::keep::text::kept_line;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::words::capital;
use crate::trade::KeptForecast;
use askama::Template;

#[derive(Template)]
#[template(path = "bench/plan-kept.html")]
struct View {
    /// What was kept, unless the page says it above.
    words: Option<String>,
    ways: Ways,
}

/// The newest forecast of this name.
fn named<'b>(book: &'b Book, name: &str) -> Option<(&'b KeptForecast, &'b String)> {
    let mut all = book.forecasts().iter().zip(book.forecast_ids()).rev();
    all.find(|(forecast, _)| forecast.name.as_str() == name)
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    let found = form.get("name").and_then(|name| named(&book, name));
    let (forecast, id) = found
        .ok_or_else(|| Turned::Missing("No forecast of this name is in the book.".to_owned()))?;
    let is_new = desk.counts(form);
    let view = View {
        words: (!is_new).then(|| capital(&kept_line(forecast))),
        ways: ways(forecast, id, &book),
    };
    let content = Content::of(format!("The forecast for {} is kept", forecast.name), &view);
    // Says only what was kept, because the reader has already seen the whole prediction.
    let said = is_new.then(|| capital(&kept_line(forecast)));
    Ok(Content { said, ..content }
        .beside("It is compared with the book once you record it.")
        .into())
}
