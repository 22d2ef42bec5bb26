//! The stock: papers, threads and targets, and what each has taught.

use super::answer_stock::{Taught, counted, taught};
use super::answer_struck::{Struck, struck};
use super::command_starting::add_starting;
use super::text::{paper_line, target_line, thread_line};
use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::jobs::record::answer_changed::Factor;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::form_page::Seal;
use crate::page::route::{Answer, Content};
use crate::page::strip::{Scale, Strip};
use crate::page::turned::{MISSING, Turned};
use crate::terminal::number::{fine_length, length, plural, rounded};
use crate::trade::{Name, Paper, Target, Thread, starting_threads};
use askama::Template;

#[derive(Template)]
#[template(path = "bench/stock.html")]
struct View {
    papers: Vec<Item>,
    /// Whether a strip is drawn.
    drawn: bool,
    threads: Vec<Item>,
    /// What is offered where there are none.
    starting: Option<Starting>,
    targets: Vec<Item>,
    struck: Vec<String>,
    /// Why nothing is said of what they have taught.
    untaught: Option<String>,
    writes: bool,
}

/// An entry of the stock.
struct Item {
    name: String,
    figure: String,
    strip: Option<Strip>,
    words: String,
    strike: String,
}

/// The common threads, offered to a book without any.
struct Starting {
    seal: Seal,
    /// Each with its diameter.
    threads: Vec<(String, String)>,
    fault: Option<String>,
}

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, None)?.into())
}

/// Adds the common threads that were ticked.
pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let names: Vec<&str> = form.all("thread").collect();
    match desk.write(form, |session| add_starting(&names, session)) {
        Ok(number) => Ok(Answer::said("/stock", &number)),
        Err(turned) => {
            let fault = turned.faults()?.into_iter().next().map(|fault| match fault.message {
                message if message == MISSING => "Tick the threads that you have.".to_owned(),
                message => message,
            });
            Ok(page(desk, fault)?.refused().into())
        }
    }
}

fn page(desk: &Desk, fault: Option<String>) -> Result<Content, Turned> {
    let book = desk.book()?;
    let (taught, untaught) = match desk.kept() {
        Ok(kept) => (taught(&kept.bench), None),
        Err(Turned::Missing(why)) => (Taught::default(), Some(why)),
        Err(other) => return Err(other),
    };
    let papers = papers(&book, &taught);
    let writes = !desk.is_read_only();
    let offers = writes && book.threads().is_empty();
    let view = View {
        drawn: papers.iter().any(|paper| paper.strip.is_some()),
        papers,
        threads: threads(&book, &taught),
        targets: book.targets().iter().map(target).collect(),
        struck: all_struck(&book),
        untaught,
        starting: offers.then(|| starting(desk, &book, fault)),
        writes,
    };
    let counts = [
        plural(book.papers().len(), "paper"),
        plural(book.threads().len(), "thread"),
        plural(book.targets().len(), "target"),
    ];
    let content = Content::new("Stock", view.render().unwrap_or_default());
    Ok(content.beside(counts.join(", ")))
}

fn starting(desk: &Desk, book: &Book, fault: Option<String>) -> Starting {
    let thread = |it: Thread| (it.name.to_string(), length(it.diameter(), book.config()));
    let threads = starting_threads().into_iter().map(thread).collect();
    Starting { seal: desk.seal(), threads, fault }
}

fn strike(kind: &str, name: &Name) -> String {
    address("/strike", &[("kind", Some(kind)), ("ids", Some(name.as_str()))])
}

fn papers(book: &Book, taught: &Taught) -> Vec<Item> {
    let factors = taught.papers.values();
    let ends = factors.flat_map(|it| [it.factor.q05, it.factor.q95, it.nominal]);
    let scale = Scale::over(ends, "");
    let count = book.papers().len();
    let item = |(index, paper): (usize, &Paper)| {
        let factor = taught.papers.get(&paper.name);
        let figure = format!("{}, {}", fine_length(paper.caliper(), book.config()), paper.hardness);
        let strip = factor.map(|factor| strip(paper, factor, (&scale, index + 1 == count)));
        let taught = factor.map(factor_words);
        let grammage = paper.grammage.map(|it| format!("{it}."));
        let note = (!paper.note.is_empty()).then(|| paper.note.clone());
        let words = taught.into_iter().chain(grammage).chain(note).collect::<Vec<_>>().join(" ");
        let (name, strike) = (paper.name.to_string(), strike("paper", &paper.name));
        Item { name, figure, strip, words, strike }
    };
    book.papers().iter().enumerate().map(item).collect()
}

/// What the trials say of a paper, and how many there are.
fn factor_words(Factor { factor, trials, .. }: &Factor) -> String {
    let range = format!("{}–{}", rounded(factor.q05, 2), rounded(factor.q95, 2));
    let share = format!(
        "Knocked down, it lets {} of the thread show (90 % range {range}).",
        rounded(factor.q50, 2)
    );
    let (own, all) = *trials;
    match (own, all) {
        (0, 0) => format!("{share} No trials yet: based on common practice only."),
        (0, _) => format!("{share} No trials of its own yet."),
        (own, _) => format!("{share} {}.", plural(own, "trial")),
    }
}

fn strip(paper: &Paper, of: &Factor, (scale, last): (&Scale, bool)) -> Strip {
    let Factor { factor, nominal, .. } = of;
    let title = format!(
        "{} knocked down: {}, 90 % range {} to {}; nominal figure {}",
        paper.name,
        rounded(factor.q50, 2),
        rounded(factor.q05, 2),
        rounded(factor.q95, 2),
        rounded(*nominal, 2)
    );
    Strip {
        range: Some((factor.q05, factor.q95)),
        middle: Some(factor.q50),
        nominal: Some(*nominal),
        ticks: last,
        ..Strip::new(title, scale)
    }
}

fn threads(book: &Book, taught: &Taught) -> Vec<Item> {
    let counts = counted(book, |trial| &trial.thread);
    let item = |thread: &Thread| {
        let source = if thread.laid().is_some() { "measured" } else { "from its count" };
        let figure = format!("{}, {source}", fine_length(thread.diameter(), book.config()));
        let made = match thread.count() {
            Some(count) => format!("{}, {count}.", thread.material),
            None => format!("{}.", thread.material),
        };
        let count = counts.get(&thread.name).copied().unwrap_or_default();
        let shows = taught.threads.get(&thread.name).filter(|_| count > 0).map(|effect| {
            let (low, high) = (signed(effect.q05), signed(effect.q95));
            let trials = plural(count, "trial");
            match effect.q05 <= 0.0 && effect.q95 >= 0.0 {
                true => format!("{trials}: it shows as its diameter says ({low} to {high})."),
                false => {
                    format!("{trials}: it shows by {low} to {high} other than its diameter says.")
                }
            }
        });
        let shows = shows.or_else(|| (count == 0).then(|| "No trials yet.".to_owned()));
        let note = (!thread.note.is_empty()).then(|| thread.note.clone());
        let words = [made].into_iter().chain(shows).chain(note).collect::<Vec<_>>().join(" ");
        let (name, strike) = (thread.name.to_string(), strike("thread", &thread.name));
        Item { name, figure, strip: None, words, strike }
    };
    book.threads().iter().map(item).collect()
}

fn signed(value: f64) -> String {
    let text = rounded(value, 2);
    match text.strip_prefix('-') {
        Some(digits) => format!("\u{2212}{digits}"),
        None => format!("+{text}"),
    }
}

fn target(target: &Target) -> Item {
    let (low, high) = (target.low_percent(), target.high_percent());
    Item {
        name: target.name.to_string(),
        figure: format!("{low}–{high} %"),
        strip: None,
        words: target.note.clone(),
        strike: strike("target", &target.name),
    }
}

/// What was struck of the stock, with the reasons.
fn all_struck(book: &Book) -> Vec<String> {
    fn lines<T>(struck: &[Struck<T>], line: impl Fn(&T) -> String) -> Vec<String> {
        let of = |Struck { entry, strike }: &Struck<T>| {
            let why = strike.as_ref().map(|it| format!(" Struck on {}: {}", it.date, it.reason));
            format!("{}.{}", line(entry), why.unwrap_or_default())
        };
        struck.iter().map(of).collect()
    }
    let (all, config) = (struck(book), book.config());
    [
        lines(&all.papers, |it| format!("Paper {}", paper_line(it, config))),
        lines(&all.threads, |it| format!("Thread {}", thread_line(it, config))),
        lines(&all.targets, |it| format!("Target {}", target_line(it))),
    ]
    .concat()
}
