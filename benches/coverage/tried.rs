//! The simulated worlds, by name.

use crate::support::simulated::{Blocks, World};
use swellbook::observe::Weighing;

/// A world, its names, and how its readings are weighed.
#[derive(Clone, Copy)]
pub struct Named {
    /// In the command-line options.
    pub name: &'static str,
    /// In the tables.
    pub words: &'static str,
    pub of: World,
    pub weighing: Weighing,
    /// The factor by which the fit widens beliefs and spreads.
    pub widened: f64,
}

const fn named(name: &'static str, words: &'static str, of: World) -> Named {
    Named { name, words, of, weighing: Weighing::Judged, widened: 1.0 }
}

/// The world that matches the beliefs.
pub fn as_believed() -> Named {
    named("believed", "as believed", World::default())
}

/// Worlds for books of any kind. The first matches the beliefs.
pub fn strange() -> Vec<Named> {
    let believed = World::default();
    let slips = World { slips: 0.02, ..believed };
    let equal = |world: Named| Named { weighing: Weighing::Equal, ..world };
    vec![
        as_believed(),
        equal(named("equal", "as believed, all readings equal", believed)),
        named("factor-above", "factor 3 sd above nominal", with(|w| w.factor_out = Some(3.0))),
        named("factor-below", "factor 3 sd below nominal", with(|w| w.factor_out = Some(-3.0))),
        named("student", "Student-t(3) sewings, hammerings and stages", with(|w| w.tails = true)),
        named("diameters", "thread diameters 10 % wrong", with(|w| w.diameters = 0.1)),
        doubled(),
        equal(named("slips-equal", "one bad reading in fifty, all equal", slips)),
        named("slips", "one bad reading in fifty, judged", slips),
    ]
}

pub fn long() -> Vec<Named> {
    let proportional = |change: fn(&mut World)| {
        let mut world = World::PROPORTIONAL;
        change(&mut world);
        world
    };
    vec![
        as_believed(),
        named("proportional", "in proportion, hammered and two-on alike", World::PROPORTIONAL),
        named("power-0.9", "swell grows as n^0.9", proportional(|w| w.power = Some(0.9))),
        named("power-0.8", "swell grows as n^0.8", proportional(|w| w.power = Some(0.8))),
        named("hammering", "hammering scatters by 0.07", proportional(|w| w.knocking = Some(0.07))),
        named("two-on", "two-on adds 0.05 to the share", proportional(|w| w.two_on = Some(0.05))),
        named("student", "Student-t(3) sewings, hammerings and stages", with(|w| w.tails = true)),
        doubled(),
        Named {
            name: "doubled-widened",
            words: "the same, under beliefs twice as wide",
            widened: 2.0,
            ..doubled()
        },
    ]
}

fn doubled() -> Named {
    named("doubled", "all spreads twice as believed", with(|w| w.doubled = true))
}

fn with(change: fn(&mut World)) -> World {
    let mut world = World::default();
    change(&mut world);
    world
}

/// Trial blocks with their names in the options and in the tables.
pub const BLOCKS: [(Blocks, &str, &str); 4] = [
    (Blocks::Of(10), "ten", "all 10"),
    (Blocks::Of(6), "six", "all 6"),
    (Blocks::Any, "any", "6 to 16"),
    (Blocks::OneLong, "long", "6 to 16, one of 24"),
];

/// The name of blocks in the tables.
pub fn words(blocks: Blocks) -> &'static str {
    BLOCKS.iter().find(|known| known.0 == blocks).map_or("", |known| known.2)
}

/// The rows on long new books. Worlds that depend on the length are simulated with every kind of
/// block.
pub fn long_rows() -> Vec<(Named, Vec<Blocks>)> {
    let blocks = |world: Named| match world.name {
        "believed" | "power-0.9" | "power-0.8" => BLOCKS.map(|known| known.0).to_vec(),
        _ => vec![Blocks::Of(10), Blocks::Any],
    };
    long().into_iter().map(|world| (world, blocks(world))).collect()
}

/// Every world, each name once.
pub fn all() -> Vec<Named> {
    let mut all = strange();
    all.extend(long());
    let mut seen = Vec::new();
    all.retain(|world| {
        !seen.contains(&world.name) && {
            seen.push(world.name);
            true
        }
    });
    all
}
