//! Proof of the coefficients: conditions of order on rooted trees, stage sums, stability.

use super::*;
use nalgebra::{DMatrix, DVector};

/// Rooted tree: the children of its root.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Tree(Vec<Tree>);

impl Tree {
    fn order(&self) -> u32 {
        1 + self.0.iter().map(Tree::order).sum::<u32>()
    }

    fn density(&self) -> f64 {
        f64::from(self.order()) * self.0.iter().map(Tree::density).product::<f64>()
    }
}

/// All rooted trees with `order` nodes: graft one leaf everywhere on the smaller ones.
fn trees(order: u32) -> Vec<Tree> {
    fn grafted(tree: &Tree) -> Vec<Tree> {
        let mut out = Vec::new();
        let mut with_leaf = tree.clone();
        with_leaf.0.push(Tree(vec![]));
        with_leaf.0.sort();
        out.push(with_leaf);
        for i in 0..tree.0.len() {
            for child in grafted(&tree.0[i]) {
                let mut copy = tree.clone();
                copy.0[i] = child;
                copy.0.sort();
                out.push(copy);
            }
        }
        out
    }
    if order == 1 {
        return vec![Tree(vec![])];
    }
    let mut out: Vec<Tree> = trees(order - 1).iter().flat_map(grafted).collect();
    out.sort();
    out.dedup();
    out
}

/// The method in the form with `alpha`, `beta = alpha + gamma matrix` and weights.
struct Classical {
    alpha: DMatrix<f64>,
    gamma: DMatrix<f64>,
    /// Inverse of the transformation from `k` to `U`.
    s: usize,
}

fn square(rows: &[[f64; STAGES]; STAGES], s: usize) -> DMatrix<f64> {
    DMatrix::from_fn(s, s, |i, j| rows[i][j])
}

impl Classical {
    fn of(t: &Tableau) -> Self {
        let s = t.stages;
        let inverse = DMatrix::identity(s, s) / t.gamma - square(&t.c, s);
        let gamma = inverse.try_inverse().unwrap();
        Self {
            alpha: square(&t.a, s) * &gamma,
            gamma,
            s,
        }
    }

    fn phi(&self, tree: &Tree) -> DVector<f64> {
        let matrix = if tree.0.len() == 1 {
            &self.alpha + &self.gamma
        } else {
            self.alpha.clone()
        };
        tree.0
            .iter()
            .fold(DVector::from_element(self.s, 1.0), |product, child| {
                product.component_mul(&(&matrix * self.phi(child)))
            })
    }

    /// Largest defect over all trees of one order for weights on `U` at the share `x` of the step.
    fn defect(&self, weights_u: &DVector<f64>, order: u32, x: f64) -> f64 {
        let b = self.gamma.transpose() * weights_u;
        trees(order)
            .iter()
            .map(|tree| {
                (b.dot(&self.phi(tree)) - x.powi(i32::try_from(order).unwrap()) / tree.density())
                    .abs()
            })
            .fold(0.0, f64::max)
    }
}

/// Weights of the end point: those of the last argument plus the last `U`.
fn end_weights(t: &Tableau) -> DVector<f64> {
    let mut m = DVector::from_fn(t.stages, |j, _| t.a[t.stages - 1][j]);
    m[t.stages - 1] += 1.0;
    m
}

fn inside_weights(t: &Tableau, x: f64) -> DVector<f64> {
    end_weights(t) * x
        + DVector::from_fn(t.stages, |j, _| {
            x * (1.0 - x) * (t.inside[0][j] + x * (t.inside[1][j] + x * t.inside[2][j]))
        })
}

const SETS: [(&str, &Tableau, u32); 3] = [
    ("Rodas5P", &RODAS5P, 5),
    ("Rodas4", &RODAS4, 4),
    ("Rodas4P", &RODAS4P, 4),
];

/// Coefficients carry 13 to 16 digits and reach 1e2.
const ROUNDING: f64 = 1e-10;

#[test]
fn number_of_rooted_trees_is_the_known_one() {
    // Hairer, Norsett & Wanner, Solving ODEs I, table II.2.1.
    assert_eq!(
        [1, 2, 3, 4, 5, 6].map(|p| trees(p).len()),
        [1, 1, 2, 4, 9, 20]
    );
}

#[test]
fn end_point_meets_every_condition_up_to_its_order_and_not_the_next() {
    for (name, t, order) in SETS {
        let method = Classical::of(t);
        for p in 1..=order {
            let defect = method.defect(&end_weights(t), p, 1.0);
            assert!(defect < ROUNDING, "{name}: order {p}: {defect:.2e}");
        }
        let next = method.defect(&end_weights(t), order + 1, 1.0);
        assert!(
            next > 1e-6,
            "{name}: a defect at order {} was expected, {next:.2e} found",
            order + 1
        );
    }
}

#[test]
fn embedded_solution_has_one_order_less() {
    for (name, t, order) in SETS {
        let method = Classical::of(t);
        let mut weights = end_weights(t);
        weights[t.stages - 1] -= 1.0;
        assert_eq!(t.embedded_order, order - 1, "{name}");
        for p in 1..order {
            let defect = method.defect(&weights, p, 1.0);
            assert!(defect < ROUNDING, "{name}: order {p}: {defect:.2e}");
        }
        assert!(method.defect(&weights, order, 1.0) > 1e-6, "{name}");
    }
}

#[test]
fn inside_of_the_step_has_one_order_less() {
    for (name, t, order) in SETS {
        let method = Classical::of(t);
        for p in 1..order {
            for x in [0.1, 0.3, 0.5, 0.8, 0.95] {
                let defect = method.defect(&inside_weights(t, x), p, x);
                assert!(defect < ROUNDING, "{name}: order {p} at {x}: {defect:.2e}");
            }
        }
    }
}

#[test]
fn stage_times_and_time_weights_are_row_sums() {
    for (name, t, _) in SETS {
        let method = Classical::of(t);
        for i in 0..t.stages {
            let (alpha, gamma) = (method.alpha.row(i).sum(), method.gamma.row(i).sum());
            assert!(
                (alpha - t.node[i]).abs() < ROUNDING,
                "{name}: c_{i}: {alpha} and {}",
                t.node[i]
            );
            assert!(
                (gamma - t.d[i]).abs() < ROUNDING,
                "{name}: d_{i}: {gamma} and {}",
                t.d[i]
            );
        }
    }
}

#[test]
fn stability_function_vanishes_at_infinity_and_stays_below_one_on_the_imaginary_axis() {
    for (name, t, _) in SETS {
        let method = Classical::of(t);
        let beta = &method.alpha + &method.gamma;
        let b = method.gamma.transpose() * end_weights(t);
        let one = DVector::from_element(t.stages, 1.0);
        // R(infinity) = 1 - b beta^-1 1.
        let at_infinity = 1.0 - b.dot(&beta.clone().lu().solve(&one).unwrap());
        assert!(at_infinity.abs() < ROUNDING, "{name}: {at_infinity:.2e}");
        // R(iy) = 1 + iy b (1 - iy beta)^-1 1 by real arithmetic on pairs.
        let s = t.stages;
        for k in 0..400 {
            let y = 10f64.powf(-2.0 + 0.01 * f64::from(k));
            let mut m = DMatrix::identity(2 * s, 2 * s);
            m.view_mut((0, s), (s, s)).copy_from(&(&beta * y));
            m.view_mut((s, 0), (s, s)).copy_from(&(&beta * -y));
            let mut rhs = DVector::zeros(2 * s);
            rhs.rows_mut(0, s).copy_from(&one);
            let x = m.lu().solve(&rhs).unwrap();
            let (re, im) = (1.0 - y * b.dot(&x.rows(s, s)), y * b.dot(&x.rows(0, s)));
            assert!(
                re.hypot(im) < 1.0 + 1e-8,
                "{name}: |R({y}i)| = {}",
                re.hypot(im)
            );
        }
    }
}
