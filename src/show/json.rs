//! Pieces of JSON that several views share. Lengths are in mm, whatever the screen shows.

use crate::model::mixed::Summary;
use serde::ser::{SerializeMap, Serializer};
use serde::{Serialize, Serialize as Value};

/// Values by name, in their own order.
pub(super) struct Named<T>(pub Vec<(String, T)>);

impl<T: Value> Serialize for Named<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

/// A mean and a standard deviation.
#[derive(Serialize)]
pub(super) struct MeanSd {
    pub mean: f64,
    pub sd: f64,
}

/// A summary with its most probable value.
#[derive(Serialize)]
pub(super) struct WithMode {
    #[serde(flatten)]
    pub summary: Summary,
    pub mode: f64,
}

/// The document as text.
pub(super) fn document(value: &impl Serialize) -> String {
    // Only a map with keys that are no text, or a failing writer, could be refused here.
    serde_json::to_string_pretty(value)
        .unwrap_or_else(|error| format!("{{\"error\": \"{error}\"}}"))
}
