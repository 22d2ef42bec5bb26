//! Checks of beliefs, with the messages for impossible ones.

use super::error::ModelError;
use crate::model::mixed::{Belief, LEAST_LEFT};

/// Largest difference between the two triangles of a covariance, as a share of the product of both
/// standard deviations.
const SYMMETRIC: f64 = 1e-9;

pub(super) fn check_belief(name: &str, belief: &Belief) -> Result<(), ModelError> {
    let sound = belief.mean.is_finite() && belief.sd.is_finite() && belief.sd > 0.0;
    if sound { Ok(()) } else { Err(impossible(name, "a finite mean and an sd above zero")) }
}

pub(super) fn check_scale(name: &str, scale: f64) -> Result<(), ModelError> {
    let sound = scale.is_finite() && scale > 0.0;
    if sound { Ok(()) } else { Err(impossible(name, "a scale above zero")) }
}

/// The two triangles must agree up to rounding.
pub(super) fn check_symmetric<const N: usize>(
    covariance: &[[f64; N]; N],
    names: [&str; N],
) -> Result<(), ModelError> {
    let differ = |&(i, j): &(usize, usize)| {
        let apart = (covariance[i][j] - covariance[j][i]).abs();
        // NaN if the numbers are not finite.
        apart.is_nan() || apart > SYMMETRIC * (covariance[i][i] * covariance[j][j]).sqrt()
    };
    let mut pairs = (0..N).flat_map(|i| (0..i).map(move |j| (i, j)));
    let found = pairs.find(differ).map(|(i, j)| {
        let (one, other) = (names[i], names[j]);
        let message = format!(
            "the covariance of {one} and {other} is {} and that of {other} and {one} is {}; they \
             must be the same finite number",
            covariance[i][j], covariance[j][i]
        );
        ModelError::Belief { message }
    });
    found.map_or(Ok(()), Err)
}

pub(super) fn contradicted(coefficient: &str) -> ModelError {
    let message = format!(
        "the correlations of {coefficient} with the other coefficients contradict each other, or \
         determine it completely: given the others, {LEAST_LEFT:e} of its variance must remain; \
         use correlations that are closer to zero"
    );
    ModelError::Belief { message }
}

pub(super) fn unknown(name: &str, table: &'static str, known: &[&str]) -> ModelError {
    let (name, known) = (crate::units::shown(name), known.join(", "));
    let message = format!("{table} {name} is not a belief of the model; expected one of {known}");
    in_settings(ModelError::Belief { message })
}

fn impossible(name: &str, wanted: &str) -> ModelError {
    ModelError::Belief { message: format!("the belief {name} needs {wanted}") }
}

/// Beliefs are only overridden in a book's settings, so name that file.
pub(super) fn in_settings(error: ModelError) -> ModelError {
    match error {
        ModelError::Belief { message } => {
            ModelError::Belief { message: format!("book.toml: {message}") }
        }
        other => other,
    }
}
