//! Shapes of vessels as faces towards air and ground.

use std::f64::consts::PI;

use super::envelope::{Face, Meets, Sunlit};
use super::wall::INSIDE_W_PER_M2_K;

/// Outer shape of a vessel.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// An upright cylinder.
    Drum {
        /// \[m\]
        diameter_m: f64,
        /// \[m\]
        height_m: f64,
    },
    /// A box.
    Tote {
        /// \[m\]
        length_m: f64,
        /// \[m\]
        width_m: f64,
        /// \[m\]
        height_m: f64,
    },
    /// A lying cylinder.
    Bag {
        /// \[m\]
        length_m: f64,
        /// \[m\]
        diameter_m: f64,
    },
}

/// Resistances of wall and insulation \[m2 K/W\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lagging {
    /// The wall itself.
    pub wall: f64,
    /// Insulation of the sides.
    pub sides: f64,
    /// Insulation of the top.
    pub top: f64,
    /// Insulation of the bottom.
    pub bottom: f64,
}

/// How the vessel meets the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// How deep its bottom lies below the ground \[m\].
    pub buried_m: f64,
    /// Whether an unburied vessel stands on the ground, or free of it.
    pub on_ground: bool,
    /// Conductivity of the soil \[W/m/K\].
    pub soil_w_per_m_k: f64,
    /// What a buried face passes through the soil around it \[W/m2/K\].
    pub contact_w_per_m2_k: f64,
}

/// A part of the surface before it is placed.
struct Part {
    name: &'static str,
    area_m2: f64,
    /// Share of the area below ground, 0..1.
    below: f64,
    /// Depth of the middle of that share \[m\].
    depth_m: f64,
    lagging: f64,
}

/// The faces of a shape. A sunlit face is cut out of the largest one that meets the air.
#[must_use]
pub fn faces(
    shape: &Shape,
    lagging: &Lagging,
    placement: &Placement,
    sunlit: Option<(Sunlit, f64)>,
) -> Vec<Face> {
    let inner = 1.0 / INSIDE_W_PER_M2_K + lagging.wall;
    let buried = placement.buried_m;
    let mut out = Vec::new();
    for part in parts(shape, lagging, buried) {
        let resistance = inner + part.lagging;
        let above = part.area_m2 * (1.0 - part.below);
        if above > 0.0 {
            let standing = part.name == "bottom" && placement.on_ground;
            let (meets, soil) = if standing {
                // Shape factor of a disk on a half-space: 2 D (textbook), over the disk's area.
                let diameter = (4.0 * above / PI).sqrt();
                let soil = above / (2.0 * diameter * placement.soil_w_per_m_k);
                // The soil that matters lies about a radius deep: assumption of this project.
                let depth_m = 0.5 * diameter;
                (Meets::Soil { depth_m }, soil)
            } else {
                (Meets::Air, 0.0)
            };
            out.push(Face {
                name: part.name.to_owned(),
                area_m2: above,
                resistance: resistance + soil,
                meets,
                sunlit: None,
            });
        }
        if part.below > 0.0 {
            out.push(Face {
                name: format!("{} below ground", part.name),
                area_m2: part.area_m2 * part.below,
                resistance: resistance + 1.0 / placement.contact_w_per_m2_k,
                meets: Meets::Soil {
                    depth_m: part.depth_m,
                },
                sunlit: None,
            });
        }
    }
    if let Some((sun, lagging)) = sunlit {
        cut_out(&mut out, sun, inner + lagging);
    }
    out
}

/// Takes the sunlit area from the largest face that meets the air.
fn cut_out(faces: &mut Vec<Face>, sun: Sunlit, resistance: f64) {
    let air = |f: &&mut Face| f.meets == Meets::Air;
    let largest = faces
        .iter_mut()
        .filter(air)
        .max_by(|a, b| a.area_m2.total_cmp(&b.area_m2));
    if let Some(face) = largest {
        face.area_m2 = (face.area_m2 - sun.area_m2).max(0.0);
    }
    faces.push(Face {
        name: "sunny face".to_owned(),
        area_m2: sun.area_m2,
        resistance,
        meets: Meets::Air,
        sunlit: Some(sun),
    });
}

fn parts(shape: &Shape, lagging: &Lagging, buried_m: f64) -> Vec<Part> {
    let upright = |around: f64, base: f64, height: f64| {
        let below = (buried_m / height).clamp(0.0, 1.0);
        vec![
            Part {
                name: "sides",
                area_m2: around * height,
                below,
                depth_m: 0.5 * buried_m.min(height),
                lagging: lagging.sides,
            },
            Part {
                name: "top",
                area_m2: base,
                below: if buried_m > height { 1.0 } else { 0.0 },
                depth_m: (buried_m - height).max(0.0),
                lagging: lagging.top,
            },
            Part {
                name: "bottom",
                area_m2: base,
                below: if buried_m > 0.0 { 1.0 } else { 0.0 },
                depth_m: buried_m,
                lagging: lagging.bottom,
            },
        ]
    };
    match *shape {
        Shape::Drum {
            diameter_m,
            height_m,
        } => upright(
            PI * diameter_m,
            0.25 * PI * diameter_m * diameter_m,
            height_m,
        ),
        Shape::Tote {
            length_m,
            width_m,
            height_m,
        } => upright(2.0 * (length_m + width_m), length_m * width_m, height_m),
        Shape::Bag {
            length_m,
            diameter_m,
        } => {
            let deep = (buried_m / diameter_m).clamp(0.0, 1.0);
            // Half the angle that the buried arc spans, and the share of a circle below a chord.
            let half = (1.0 - 2.0 * deep).acos();
            let circle = 0.25 * PI * diameter_m * diameter_m;
            let segment = (half - half.sin() * half.cos()) / PI;
            let depth_m = 0.5 * buried_m;
            let part = |name, area_m2, below| Part {
                name,
                area_m2,
                below,
                depth_m,
                lagging: lagging.sides,
            };
            vec![
                part("skin", PI * diameter_m * length_m, half / PI),
                part("ends", 2.0 * circle, segment),
            ]
        }
    }
}

impl Shape {
    /// Volume that the shape encloses \[m3\].
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        match *self {
            Self::Drum {
                diameter_m,
                height_m,
            } => 0.25 * PI * diameter_m * diameter_m * height_m,
            Self::Tote {
                length_m,
                width_m,
                height_m,
            } => length_m * width_m * height_m,
            Self::Bag {
                length_m,
                diameter_m,
            } => 0.25 * PI * diameter_m * diameter_m * length_m,
        }
    }

    /// Height from bottom to top \[m\].
    #[must_use]
    pub fn height_m(&self) -> f64 {
        match *self {
            Self::Drum { height_m, .. } | Self::Tote { height_m, .. } => height_m,
            Self::Bag { diameter_m, .. } => diameter_m,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Placement = Placement {
        buried_m: 0.0,
        on_ground: false,
        soil_w_per_m_k: 1.0,
        contact_w_per_m2_k: 1.25,
    };

    fn area(faces: &[Face]) -> f64 {
        faces.iter().map(|f| f.area_m2).sum()
    }

    #[test]
    fn burying_moves_area_and_loses_none() {
        let lagging = Lagging::default();
        let bag = Shape::Bag {
            length_m: 2.0,
            diameter_m: 0.8,
        };
        let free = area(&faces(&bag, &lagging, &FREE, None));
        let half = Placement {
            buried_m: 0.4,
            ..FREE
        };
        let sunk = faces(&bag, &lagging, &half, None);
        assert!((area(&sunk) - free).abs() < 1e-12);
        let below: f64 = sunk
            .iter()
            .filter(|f| matches!(f.meets, Meets::Soil { .. }))
            .map(|f| f.area_m2)
            .sum();
        assert!((below / free - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_sunny_face_is_cut_out_of_the_side() {
        let sun = Sunlit {
            area_m2: 0.5,
            absorptance: 0.9,
            transmittance: 1.0,
            glazing: 0.0,
        };
        let drum = Shape::Drum {
            diameter_m: 0.58,
            height_m: 0.88,
        };
        let lit = faces(&drum, &Lagging::default(), &FREE, Some((sun, 0.0)));
        assert!((area(&lit) - 2.132).abs() < 1e-3);
        assert_eq!(lit.iter().filter(|f| f.sunlit.is_some()).count(), 1);
    }
}
