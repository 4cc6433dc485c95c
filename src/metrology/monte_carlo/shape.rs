//! The standard forms of the distributions: centre 0, unit spread; and how each is drawn.

use rand_distr::{Distribution as _, StandardNormal, StandardUniform, StudentT};
use rand_xoshiro::Xoshiro256PlusPlus as Generator;

use super::moments::Exist;

/// A distribution about 0. Bounded ones reach from −1 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shape {
    Normal,
    StudentT { freedom: f64, sampler: StudentT<f64> },
    Rectangular,
    Triangular,
    Trapezoidal { top: f64 },
    ArcSine,
    Curvilinear { inexactness: f64 },
}

/// Uniform from −1 to 1.
#[inline]
fn uniform(generator: &mut Generator) -> f64 {
    let unit: f64 = StandardUniform.sample(generator);
    2.0 * unit - 1.0
}

/// The sum of two rectangular ones, as wide as (1 + top)/2 and (1 − top)/2 (JCGM 101, 6.4.4.4; a
/// triangle, 6.4.5.4, is the case top = 0).
#[inline]
fn trapezoid(generator: &mut Generator, top: f64) -> f64 {
    0.5 * ((1.0 + top) * uniform(generator) + (1.0 - top) * uniform(generator))
}

/// The cosine of a random angle, without a cosine: a random direction (x, y) is drawn by rejection,
/// and (x² − y²)/(x² + y²) is the cosine of twice its angle. The distribution is that of
/// JCGM 101, 6.4.6.4; the formula there takes a sine.
#[inline]
fn arc_sine(generator: &mut Generator) -> f64 {
    loop {
        let (x, y) = (uniform(generator), uniform(generator));
        let (x2, y2) = (x * x, y * y);
        let radius2 = x2 + y2;
        if radius2 <= 1.0 && radius2 > 0.0 {
            return (x2 - y2) / radius2;
        }
    }
}

/// A rectangle whose half width is itself rectangular within 1 ± inexactness (JCGM 101, 6.4.3.4).
#[inline]
fn curvilinear(generator: &mut Generator, inexactness: f64) -> f64 {
    let half_width = 1.0 + inexactness * uniform(generator);
    half_width * uniform(generator)
}

impl Shape {
    /// One value.
    #[inline]
    pub(super) fn draw(self, generator: &mut Generator) -> f64 {
        match self {
            Shape::Normal => StandardNormal.sample(generator),
            Shape::StudentT { sampler, .. } => sampler.sample(generator),
            Shape::Rectangular => uniform(generator),
            Shape::Triangular => trapezoid(generator, 0.0),
            Shape::Trapezoidal { top } => trapezoid(generator, top),
            Shape::ArcSine => arc_sine(generator),
            Shape::Curvilinear { inexactness } => curvilinear(generator, inexactness),
        }
    }

    /// Adds to every value `factor` times a draw of its own. The choice of the shape stands outside
    /// the loop: that is what makes a budget fast.
    pub(super) fn add(self, factor: f64, generator: &mut Generator, values: &mut [f64]) {
        fn each(values: &mut [f64], factor: f64, generator: &mut Generator, draw: impl Fn(&mut Generator) -> f64) {
            // A copy of its own lets the compiler keep the state in registers.
            let mut own = generator.clone();
            for value in values {
                *value += factor * draw(&mut own);
            }
            *generator = own;
        }
        match self {
            Shape::Normal => each(values, factor, generator, |g| StandardNormal.sample(g)),
            Shape::StudentT { sampler, .. } => each(values, factor, generator, |g| sampler.sample(g)),
            Shape::Rectangular => each(values, factor, generator, uniform),
            Shape::Triangular => each(values, factor, generator, |g| trapezoid(g, 0.0)),
            Shape::Trapezoidal { top } => each(values, factor, generator, |g| trapezoid(g, top)),
            Shape::ArcSine => each(values, factor, generator, arc_sine),
            Shape::Curvilinear { inexactness } => each(values, factor, generator, |g| curvilinear(g, inexactness)),
        }
    }

    /// Its variance, where there is one.
    pub(super) fn variance(self) -> Option<f64> {
        match self {
            Shape::Normal => Some(1.0),
            Shape::StudentT { freedom, .. } => (freedom > 2.0).then(|| freedom / (freedom - 2.0)),
            Shape::Rectangular => Some(1.0 / 3.0),
            Shape::Triangular => Some(1.0 / 6.0),
            Shape::Trapezoidal { top } => Some((1.0 + top * top) / 6.0),
            Shape::ArcSine => Some(0.5),
            Shape::Curvilinear { inexactness } => Some((1.0 + inexactness * inexactness / 3.0) / 3.0),
        }
    }

    /// Which of its moments exist.
    pub(super) fn exist(self) -> Exist {
        match self {
            Shape::StudentT { freedom, .. } if freedom <= 1.0 => Exist::Neither,
            Shape::StudentT { freedom, .. } if freedom <= 2.0 => Exist::Mean,
            _ => Exist::MeanAndVariance,
        }
    }
}
