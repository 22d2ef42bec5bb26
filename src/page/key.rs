//! The key that gives access to the page.

use sha2::{Digest, Sha256};
use std::hint::black_box;

/// A key of 128 bits from the system's random generator. It lives as long as the program.
#[derive(Clone)]
pub(crate) struct Key(String);

impl Key {
    pub fn random() -> Result<Self, getrandom::Error> {
        number().map(Self)
    }

    /// As written in an address and in a cookie.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// The token of every form, so that a page of another site cannot send one. It is derived from
    /// the key and does not reveal it.
    pub fn token(&self) -> String {
        let digest = Sha256::digest(format!("form {}", self.0));
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Compares every byte, so that the time taken reveals nothing.
    pub fn is(&self, typed: &str) -> bool {
        same(self.text(), typed)
    }

    pub fn has_token(&self, typed: &str) -> bool {
        same(&self.token(), typed)
    }
}

/// 128 random bits in hexadecimal: a key, or the send number of a form.
pub(crate) fn number() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)?;
    Ok(format!("{:032x}", u128::from_be_bytes(bytes)))
}

/// A digest of texts, of where each begins and ends.
pub(super) fn digest<'a>(texts: impl IntoIterator<Item = &'a [u8]>) -> u64 {
    let mut digest = Sha256::new();
    for text in texts {
        digest.update((text.len() as u64).to_be_bytes());
        digest.update(text);
    }
    digest.finalize().iter().take(8).fold(0, |number, byte| number << 8 | u64::from(*byte))
}

fn same(known: &str, typed: &str) -> bool {
    let differ = known.bytes().zip(typed.bytes()).fold(0, |differ, (a, b)| differ | (a ^ b));
    known.len() == typed.len() && black_box(differ) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_opens_and_nothing_near_it_does() {
        let key = Key::random().unwrap();
        let (text, token) = (key.text().to_owned(), key.token());
        assert!(key.is(&text) && key.has_token(&token));
        assert_eq!((text.len(), token.len()), (32, 64));
        for wrong in ["", &text[1..], &format!("{text}0"), &text.to_uppercase().replace('0', "o")] {
            assert!(!key.is(wrong), "{wrong}");
        }
        assert!(!key.is(&token) && !key.has_token(&text));
        assert_ne!(Key::random().unwrap().text(), text);
    }
}
