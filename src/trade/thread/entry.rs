use super::count::ThreadCount;
use crate::trade::limits::{OutOfRange, ranges};
use crate::trade::name::Name;
use crate::trade::paper::share_of;
use crate::trade::word::words;
use crate::units::{Millimetres, Tex};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The share of fibre in the cross-section of a plied, waxed thread (common practice, no source).
const PACKING: f64 = 0.78;

/// A measured diameter is suspect if it differs from the computed one by more than this share. Wax,
/// twist and tension make up a fifth; a wrong count or a double thread makes more.
const DOUBTFUL_DIAMETER: f64 = 0.35;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Material {
    /// Flax.
    #[default]
    Linen,
    Cotton,
    Silk,
    Polyester,
    Hemp,
    Ramie,
    Jute,
}

impl Material {
    /// Density of the fibre in g/mm³ (handbook values, rounded; those of hemp, ramie and jute from
    /// memory). An error of 3 % changes the diameter by 1.5 %.
    pub fn density(self) -> f64 {
        match self {
            Self::Linen => 1.50e-3,
            Self::Cotton => 1.52e-3,
            Self::Silk => 1.34e-3,
            Self::Polyester => 1.38e-3,
            Self::Hemp => 1.48e-3,
            Self::Ramie => 1.51e-3,
            Self::Jute => 1.46e-3,
        }
    }
}

words!(
    Material or "for another fibre leave the material out and give the diameter as laid, measured":
    Linen = "linen" | "flax", Cotton = "cotton", Silk = "silk", Polyester = "polyester",
    Hemp = "hemp", Ramie = "ramie", Jute = "jute"
);

/// Laid diameter in mm from linear density: `d = 2·sqrt(T·10⁻⁶ / (π·ρ·φ))`, T in tex, ρ the
/// fibre's density in g/mm³, φ = 0.78 the packing. Source: docs/model.md, "Thread diameter".
pub fn laid_diameter(material: Material, density: Tex) -> f64 {
    let grams_per_mm = density.tex() * 1e-6;
    2.0 * (grams_per_mm / (std::f64::consts::PI * material.density() * PACKING)).sqrt()
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum ThreadError {
    #[error(
        "thread '{name}' has no size; give its count (such as 'lea 25/3') or its measured laid diameter"
    )]
    NoSize { name: Name },
    #[error(
        "thread '{name}': a count of {material} without its system can be {}; write which", readings.join(" or ")
    )]
    WhichCount { name: Name, material: Material, readings: Vec<String> },
    #[error(transparent)]
    Diameter(#[from] OutOfRange),
}

/// A thread in stock. Its size is a count, a measured laid diameter, or both.
#[derive(Clone, Debug, PartialEq)]
pub struct Thread {
    pub name: Name,
    pub material: Material,
    count: Option<ThreadCount>,
    laid: Option<Millimetres>,
    pub note: String,
}

impl Thread {
    /// # Errors
    /// [`ThreadError::NoSize`] with neither; [`ThreadError::Diameter`] for an impossible one.
    pub fn new(
        name: Name,
        material: Material,
        count: Option<ThreadCount>,
        laid: Option<Millimetres>,
    ) -> Result<Self, ThreadError> {
        if count.is_none() && laid.is_none() {
            return Err(ThreadError::NoSize { name });
        }
        // Linen and the fibres sold like it are counted in leas (common practice, no source).
        let in_leas = !matches!(material, Material::Cotton | Material::Silk | Material::Polyester);
        if let Some(count) = count.filter(|count| count.is_bare() && !in_leas) {
            let readings = count.readings();
            return Err(ThreadError::WhichCount { name, material, readings });
        }
        let count = count.map(ThreadCount::in_leas);
        let thread = Self { name, material, count, laid, note: String::new() };
        ranges::LAID.check(thread.diameter().mm())?;
        Ok(thread)
    }

    pub fn count(&self) -> Option<ThreadCount> {
        self.count
    }

    pub fn laid(&self) -> Option<Millimetres> {
        self.laid
    }

    /// The laid diameter in mm: measured, or else from the count.
    pub fn diameter(&self) -> Millimetres {
        let computed = || self.diameter_from_count();
        // The constructor refuses a thread with neither.
        self.laid.or_else(computed).unwrap_or_else(|| unreachable!("a thread has a size"))
    }

    pub fn diameter_from_count(&self) -> Option<Millimetres> {
        let density = self.count?.linear_density();
        Millimetres::new(laid_diameter(self.material, density))
    }

    /// Measured over computed diameter, minus one, if the two are so far apart that one is probably
    /// mistyped. `None` if they agree or only one is known.
    pub fn disagreement(&self) -> Option<f64> {
        let ratio = self.laid?.mm() / self.diameter_from_count()?.mm() - 1.0;
        (ratio.abs() > DOUBTFUL_DIAMETER).then_some(ratio)
    }
}

/// The laid diameter from turns wrapped side by side: `width / turns`, in mm, to a tenth of a
/// micrometre.
///
/// # Errors
/// [`OutOfRange`] without turns, or if the result is not the diameter of a thread.
pub fn diameter_from_wraps(width: Millimetres, turns: u16) -> Result<Millimetres, OutOfRange> {
    share_of(width, turns, ranges::LAID)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linen(count: &str) -> f64 {
        laid_diameter(Material::Linen, count.parse::<ThreadCount>().unwrap().linear_density())
    }

    /// Common practice, no source.
    #[test]
    fn linen_threads_have_the_diameters_binders_know() {
        let just_over_half = linen("lea 18/3");
        assert!((0.50..0.60).contains(&just_over_half), "{just_over_half}");
        let just_under_half = linen("lea 25/3");
        assert!((0.42..0.50).contains(&just_under_half), "{just_under_half}");
        assert!((linen("lea 18/5") - 0.7).abs() < 0.03);
        assert!((linen("lea 40/3") - 0.35).abs() < 0.03);
    }

    #[test]
    fn a_measured_diameter_wins_over_the_count() {
        let laid = Millimetres::new(0.5);
        let count = "lea 25/3".parse().ok();
        let thread = Thread::new("a".parse().unwrap(), Material::Linen, count, laid).unwrap();
        assert_eq!(thread.diameter().mm(), 0.5);
    }

    #[test]
    fn a_diameter_far_from_the_count_is_doubted() {
        let disagreement = |laid| {
            let count = "lea 25/3".parse().ok();
            let laid = Millimetres::new(laid);
            Thread::new("a".parse().unwrap(), Material::Linen, count, laid).unwrap().disagreement()
        };
        assert_eq!(disagreement(0.48), None);
        assert!(disagreement(0.96).unwrap() > 0.35 && disagreement(0.24).unwrap() < -0.35);
    }

    #[test]
    fn a_thread_needs_a_size() {
        let name: Name = "a".parse().unwrap();
        let error = Thread::new(name.clone(), Material::Linen, None, None).unwrap_err();
        assert_eq!(error, ThreadError::NoSize { name });
        assert!(diameter_from_wraps(Millimetres::new(9.6).unwrap(), 0).is_err());
    }
}
