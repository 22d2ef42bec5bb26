use crate::trade::Name;

/// Whether a place has no name, only a number.
pub(super) fn is_number(place: &Name) -> bool {
    place.as_str().parse::<u32>().is_ok()
}

/// Numbers from 1 on as names of places. Every trial has the first few, and clones of a name share
/// one string.
#[derive(Default)]
pub(super) struct Numbers {
    low: Vec<Name>,
}

impl Numbers {
    const MOST: u32 = 1024;

    /// A number as a name. (Every number is a valid name, so `instead` is never used.)
    pub(super) fn name(&mut self, number: u32, instead: &Name) -> Name {
        let parsed = |number: u32| number.to_string().parse().unwrap_or_else(|_| instead.clone());
        if number == 0 || number > Self::MOST {
            return parsed(number);
        }
        while self.low.len() < number as usize {
            self.low.push(parsed(self.low.len() as u32 + 1));
        }
        self.low[number as usize - 1].clone()
    }
}
