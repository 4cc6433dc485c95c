//! The standard forms of the distributions: centre 0, unit spread; and how each is drawn.

use rand_distr::{Distribution as _, Gamma, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus as Generator;

use super::moments::Exist;

/// A distribution about 0. Bounded ones reach from −1 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shape {
    Normal,
    /// with the distribution of χ²/ν
    StudentT {
        freedom: f64,
        chi: Gamma<f64>,
    },
    /// Student's t with four degrees of freedom, five readings: the usual case, and a fast one
    StudentT4,
    Rectangular,
    Triangular,
    Trapezoidal {
        top: f64,
    },
    ArcSine,
    Curvilinear {
        inexactness: f64,
    },
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

/// Normal over the root of χ²/ν (the definition of t; JCGM 101, 6.4.9.5 draws it so).
#[inline]
fn student_t(normal: f64, chi: f64) -> f64 {
    normal / chi.sqrt()
}

/// Student's t with four degrees of freedom is 2 (b − 1/2)/√(b (1 − b)) with b of the beta
/// distribution with parameters 2 and 2 (that is how t and beta are related), and the median of
/// three rectangular numbers has that distribution. Exact, and without logarithms.
#[inline]
fn student_t4(generator: &mut Generator) -> f64 {
    let mut unit = || -> f64 { StandardUniform.sample(generator) };
    let (a, b, c) = (unit(), unit(), unit());
    let median = a.min(b).max(a.max(b).min(c));
    (2.0 * median - 1.0) / (median * (1.0 - median)).sqrt()
}

/// Changes each value by a draw of its own.
#[inline]
fn each(generator: &mut Generator, values: &mut [f64], draw: impl Fn(&mut f64, &mut Generator)) {
    // A copy of its own lets the compiler keep the state in registers.
    let mut own = generator.clone();
    for value in values {
        draw(value, &mut own);
    }
    *generator = own;
}

/// All χ² of a piece first, then all normal draws: roots and divisions run side by side.
fn add_student_t(chi: Gamma<f64>, factor: f64, generator: &mut Generator, values: &mut [f64]) {
    const PIECE: usize = 256;
    let (mut spreads, mut normals) = ([1.0; PIECE], [0.0; PIECE]);
    for piece in values.chunks_mut(PIECE) {
        let (spreads, normals) = (&mut spreads[..piece.len()], &mut normals[..piece.len()]);
        each(generator, spreads, |spread, g| *spread = chi.sample(g));
        each(generator, normals, |normal, g| *normal = StandardNormal.sample(g));
        for ((value, normal), spread) in piece.iter_mut().zip(normals).zip(spreads) {
            *value += factor * student_t(*normal, *spread);
        }
    }
}

impl Shape {
    /// One value.
    #[inline]
    pub(super) fn draw(self, generator: &mut Generator) -> f64 {
        match self {
            Shape::Normal => StandardNormal.sample(generator),
            Shape::StudentT { chi, .. } => {
                let spread = chi.sample(generator);
                student_t(StandardNormal.sample(generator), spread)
            }
            Shape::StudentT4 => student_t4(generator),
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
        macro_rules! add {
            ($draw:expr) => {
                each(generator, values, |value, g| *value += factor * $draw(g))
            };
        }
        match self {
            Shape::Normal => add!(|g| -> f64 { StandardNormal.sample(g) }),
            Shape::StudentT { chi, .. } => add_student_t(chi, factor, generator, values),
            Shape::StudentT4 => add!(student_t4),
            Shape::Rectangular => add!(uniform),
            Shape::Triangular => add!(|g| trapezoid(g, 0.0)),
            Shape::Trapezoidal { top } => add!(|g| trapezoid(g, top)),
            Shape::ArcSine => add!(arc_sine),
            Shape::Curvilinear { inexactness } => add!(|g| curvilinear(g, inexactness)),
        }
    }

    /// Its variance, where there is one.
    pub(super) fn variance(self) -> Option<f64> {
        match self {
            Shape::Normal => Some(1.0),
            Shape::StudentT { freedom, .. } => (freedom > 2.0).then(|| freedom / (freedom - 2.0)),
            Shape::StudentT4 => Some(2.0),
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
