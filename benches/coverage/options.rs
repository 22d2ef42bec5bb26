//! The command-line options.

use crate::Section;
use crate::support::simulated::{Blocks, Extent, LENGTHS, Lengths};
use crate::tried::{self, Named};
use clap::Parser;
use swellbook::model::{Beliefs, Coefficient, SwellSpread};

/// How often ranges hold the truth, in simulated books.
///
/// Without --world, --size, --blocks, --sections or --believe it makes the whole page; with any of
/// them it prints one table of the rows that were asked for.
#[derive(Parser)]
#[command(name = "cargo bench --bench coverage --")]
pub struct Options {
    /// Books in each row [default: 2000]
    #[arg(long)]
    pub books: Option<u64>,
    /// Added to every seed: other draws of the same worlds
    #[arg(long, default_value_t = 0)]
    pub seed: u64,
    /// A world; can be given again [default: all of them]
    #[arg(long, value_parser = world)]
    pub world: Vec<Named>,
    /// Papers and the trials on each, such as 2x4; can be given again [default: 2x4]
    #[arg(long, value_parser = size)]
    pub size: Vec<Extent>,
    /// Sections of the trial blocks: any (6 to 16), ten, six, long (6 to 16, one of 24); can be
    /// given again [default: any]
    #[arg(long, value_parser = blocks)]
    pub blocks: Vec<Blocks>,
    /// Sections of the long and the very long new book [default: 24,40]
    #[arg(long, value_parser = lengths)]
    pub sections: Option<Lengths>,
    /// The sd of a coefficient or the scale of a spread, for the fit alone, such as length=0.06;
    /// can be given again
    #[arg(long, value_name = "NAME=SD", value_parser = belief)]
    pub believe: Vec<(String, f64)>,
    /// Only this section of the page; can be given again
    #[arg(long, value_enum)]
    pub section: Vec<Section>,
    /// Few books, to see that it runs
    #[arg(long)]
    pub quick: bool,
    /// Also write docs/coverage.md, or the sections of it that are asked for
    #[arg(long)]
    pub write: bool,
    /// Given by cargo.
    #[arg(long, hide = true)]
    bench: bool,
}

impl Options {
    pub fn books(&self) -> u64 {
        self.books.unwrap_or(if self.quick { 100 } else { 2_000 })
    }

    /// Whether some rows are asked for, not the page.
    pub fn is_some_rows(&self) -> bool {
        let lists = [self.world.is_empty(), self.size.is_empty(), self.blocks.is_empty()];
        lists.contains(&false) || self.sections.is_some() || !self.believe.is_empty()
    }

    pub fn lengths(&self) -> Lengths {
        self.sections.unwrap_or(LENGTHS)
    }

    pub fn beliefs(&self) -> Beliefs {
        let mut beliefs = Beliefs::default();
        for (name, sd) in &self.believe {
            let known = match SwellSpread::ALL.iter().any(|spread| spread.name() == name) {
                true => beliefs.override_spread(name, *sd),
                false => beliefs.override_coefficient(name, None, Some(*sd)),
            };
            known.expect("a belief that the options took");
        }
        beliefs
    }
}

fn world(text: &str) -> Result<Named, String> {
    let names = tried::all().iter().map(|world| world.name).collect::<Vec<_>>().join(", ");
    let found = tried::all().into_iter().find(|world| world.name == text);
    found.ok_or_else(|| format!("the worlds are {names}"))
}

fn size(text: &str) -> Result<Extent, String> {
    let number = |text: &str| text.parse().ok().filter(|number| (1..=64).contains(number));
    let pair = text.split_once('x').map(|(papers, trials)| (number(papers), number(trials)));
    match pair {
        Some((Some(papers), Some(trials_each))) => Ok(Extent { papers, trials_each }),
        _ => Err("a size is papers x trials, such as 2x4".to_owned()),
    }
}

fn blocks(text: &str) -> Result<Blocks, String> {
    let found = tried::BLOCKS.iter().find(|known| known.1 == text);
    let names = || tried::BLOCKS.map(|known| known.1).join(", ");
    found.map(|known| known.0).ok_or_else(|| format!("blocks are {}", names()))
}

fn lengths(text: &str) -> Result<Lengths, String> {
    let number = |text: &str| text.parse().ok().filter(|number| (4..=400).contains(number));
    match text.split_once(',').map(|(long, very_long)| (number(long), number(very_long))) {
        Some((Some(long), Some(very_long))) => Ok([long, very_long]),
        _ => Err("two numbers of sections from 4 to 400, such as 24,40".to_owned()),
    }
}

fn belief(text: &str) -> Result<(String, f64), String> {
    let names = Coefficient::ALL.map(Coefficient::name).into_iter();
    let names: Vec<&str> = names.chain(SwellSpread::ALL.map(SwellSpread::name)).collect();
    let pair = text.split_once('=').and_then(|(name, sd)| Some((name, sd.parse::<f64>().ok()?)));
    match pair {
        Some((name, sd)) if names.contains(&name) && sd > 0.0 => Ok((name.to_owned(), sd)),
        _ => Err(format!("NAME=SD, of these names: {}", names.join(", "))),
    }
}
