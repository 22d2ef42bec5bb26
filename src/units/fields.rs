//! Serialises a value whose JSON is more than its own fields.

/// Writes the fields named, in this order, with a serializer.
macro_rules! fields {
    ($serializer:expr, $($name:literal: $value:expr),+ $(,)?) => {{
        let mut map = serde::Serializer::serialize_map($serializer, None)?;
        $(serde::ser::SerializeMap::serialize_entry(&mut map, $name, &$value)?;)+
        serde::ser::SerializeMap::end(map)
    }};
}

pub(crate) use fields;
