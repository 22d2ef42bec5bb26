//! A short list, read from a file that a stranger may have written.

use serde::de::{Error, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::fmt;
use std::marker::PhantomData;

/// More than a model ever has of coefficients, of spreads, and of values at which a spread's log
/// likelihood is given.
pub(super) const MOST: usize = 64;

/// A list of at most [`MOST`] items. A longer one is refused before it takes memory.
#[derive(Debug)]
pub(super) struct Few<T>(pub Vec<T>);

struct Reads<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Reads<T> {
    type Value = Few<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a list of at most {MOST}")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Few<T>, A::Error> {
        let mut few = Vec::new();
        while let Some(one) = list.next_element()? {
            if few.len() == MOST {
                return Err(A::Error::custom(format!("a list of more than {MOST}")));
            }
            few.push(one);
        }
        Ok(Few(few))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Few<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_seq(Reads(PhantomData))
    }
}
