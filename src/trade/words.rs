use std::ops::Deref;

/// A text written by the binder. Most readings have none; an empty one takes the size of a pointer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words(Option<Box<Box<str>>>);

impl From<String> for Words {
    fn from(text: String) -> Self {
        Self((!text.is_empty()).then(|| Box::new(text.into_boxed_str())))
    }
}

impl Deref for Words {
    type Target = str;

    fn deref(&self) -> &str {
        self.0.as_deref().map_or("", |text| text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_the_text_they_were_made_of() {
        for text in ["", "2026-03-02", "by lamplight"] {
            assert_eq!(&*Words::from(text.to_owned()), text);
        }
        assert_eq!(Words::from(String::new()), Words::default());
        assert_eq!(size_of::<Words>(), size_of::<usize>());
    }
}
