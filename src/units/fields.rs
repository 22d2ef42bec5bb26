//! Serialises a value whose JSON is more than its own fields.

/// Writes the fields named, in this order, with a serializer.
macro_rules! fields {
    ($serializer:expr, $($name:literal: $value:expr),+ $(,)?) => {{
        let mut map = serde::Serializer::serialize_map($serializer, None)?;
        $(serde::ser::SerializeMap::serialize_entry(&mut map, $name, &$value)?;)+
        serde::ser::SerializeMap::end(map)
    }};
}

/// Implements `Serialize` for a type: the fields named, in this order, of `$it`, after `let`
/// statements that they share.
macro_rules! fields_of {
    ($type:ty, |$it:ident| $(let $part:pat = $of:expr;)* $($name:literal: $value:expr),+ $(,)?) => {
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let $it = self;
                $(let $part = $of;)*
                $crate::units::fields!(serializer, $($name: $value),+)
            }
        }
    };
}

pub(crate) use {fields, fields_of};
