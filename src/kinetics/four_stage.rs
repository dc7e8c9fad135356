//! The four-stage network: hydrolysis, acidogenesis, acetogenesis, methanogenesis for hand-fed digesters.
//!
//! A list only; the numerics are those of every network. Stoichiometry and rates follow Batstone et al. (2002) with
//! the composite pool dropped, valerate lumped into butyrate, and slow fibre, sulphide, headspace air and a
//! temperature response added. Whatever takes up inorganic carbon, ammonium or sulphide ends where there is none.

use super::component::{Component, Group, H2_TOLERANCE};
use super::network::{AcidKind, Builder, GasForm, GasKind, Network, NetworkFault};
use super::parameters::{Parameters, remainder};
use super::rate::{Factor, REFERENCE_K, Signal, TemperatureLaw};
use crate::chemistry::{Cardinal, ConstantSet, PhBand};
use crate::feedstock::theory::{FAST_CARB, FAT, FIBRE, INERT, PROTEIN, PoolChemistry};
use crate::units::cod::{ACETIC, BUTYRIC, CELLS, HEXOSE, PALMITIC, PROPIONIC};
use crate::units::{COD_CH4, COD_H2};

/// Builds the network from its parameters.
///
/// # Errors
/// [`NetworkFault`] if changed parameters contradict each other.
pub fn four_stage(parameters: &Parameters) -> Result<Network, NetworkFault> {
    // Every name below stands in the embedded list; a test builds the network from it.
    let v = |name: &str| parameters.value(name).unwrap_or(f64::NAN);
    let mut b = Builder::new("four-stage", ConstantSet::Recommended);
    let pool = |name, words, c: &PoolChemistry, group| {
        Component::organic(
            name,
            words,
            group,
            c.carbon_kmol_per_kg_cod,
            c.nitrogen_kmol_per_kg_cod,
            c.sulfur_kmol_per_kg_cod,
        )
    };
    let acid = |name, words, carbon: f64, cod: f64| {
        Component::organic(name, words, Group::Dissolved, carbon / cod, 0.0, 0.0)
    };
    // Cells hold the sulphur of the protein they return, so that decay closes.
    let living = |name, words| {
        let sulfur = v("f_pr_dead") * PROTEIN.sulfur_kmol_per_kg_cod;
        Component::organic(name, words, Group::Living, 5.0 / CELLS, 1.0 / CELLS, sulfur)
    };

    let cf = b.component(pool(
        "X_cf",
        "fast carbohydrate",
        &FAST_CARB,
        Group::Degradable,
    ));
    let cs = b.component(pool("X_cs", "fibre", &FIBRE, Group::Degradable));
    let pr = b.component(pool("X_pr", "protein", &PROTEIN, Group::Degradable));
    let li = b.component(pool("X_li", "fat", &FAT, Group::Degradable));
    let xi = b.component(pool("X_I", "inert matter", &INERT, Group::Inert));
    b.component(pool("X_Ip", "bound protein", &PROTEIN, Group::Inert));
    let su = b.component(acid("S_su", "sugars", 6.0, HEXOSE));
    let aa = b.component(Component {
        group: Group::Dissolved,
        ..pool("S_aa", "amino acids", &PROTEIN, Group::Dissolved)
    });
    // Palmitic acid stands for the long-chain acids.
    let fa = b.component(acid("S_fa", "long-chain acids", 16.0, PALMITIC));
    let bu = b.component(acid("S_bu", "butyrate and longer", 4.0, BUTYRIC));
    let pro = b.component(acid("S_pro", "propionate", 3.0, PROPIONIC));
    let ac = b.component(acid("S_ac", "acetate", 2.0, ACETIC));
    let h2 = b.component(acid("S_h2", "hydrogen", 0.0, COD_H2).tolerance(H2_TOLERANCE));
    let ch4 = b.component(acid("S_ch4", "methane", 1.0, COD_CH4));
    b.component(pool("S_I", "dissolved inert matter", &INERT, Group::Inert));
    let ic = b.component(Component::inorganic(
        "S_IC",
        "inorganic carbon",
        1.0,
        0.0,
        0.0,
    ));
    let nh = b.component(Component::inorganic(
        "S_IN",
        "ammonium nitrogen",
        0.0,
        1.0,
        0.0,
    ));
    let hs = b.component(Component::inorganic("S_IS", "sulphide", 0.0, 0.0, 1.0).tolerance(1e-8));
    b.component(Component::ion("S_ion", "strong ions", 1.0));
    let x: [usize; 7] = [
        ("X_su", "sugar fermenters"),
        ("X_aa", "amino-acid fermenters"),
        ("X_fa", "long-chain-acid degraders"),
        ("X_c4", "butyrate degraders"),
        ("X_pro", "propionate degraders"),
        ("X_ac", "acetate-using methanogens"),
        ("X_h2", "hydrogen-using methanogens"),
    ]
    .map(|(name, words)| b.component(living(name, words)));
    b.close_with(Some(ic), Some(nh), Some(hs));
    b.limit_uptake(ic, v("K_S_IC"));
    b.limit_uptake(nh, v("K_S_IN"));
    b.limit_uptake(hs, v("K_S_IS"));

    b.acid(ic, 1.0, AcidKind::Carbonic, 0, 2);
    let ammonium = b.acid(nh, 1.0, AcidKind::Ammonium, 1, 1);
    let sulfidic = b.acid(hs, 1.0, AcidKind::Sulfidic, 0, 1);
    let acetic = b.acid(ac, 1.0 / ACETIC, AcidKind::Acetic, 0, 1);
    b.acid(pro, 1.0 / PROPIONIC, AcidKind::Propionic, 0, 1);
    b.acid(bu, 1.0 / BUTYRIC, AcidKind::Butyric, 0, 1);
    b.gas(
        GasKind::H2,
        GasForm::Component {
            index: h2,
            per_kmol: COD_H2,
        },
    );
    b.gas(
        GasKind::CH4,
        GasForm::Component {
            index: ch4,
            per_kmol: COD_CH4,
        },
    );
    b.gas(GasKind::CO2, GasForm::Acid(0));
    b.gas(GasKind::H2S, GasForm::Acid(sulfidic));
    b.gas(GasKind::Air, GasForm::None);

    let cardinal = |group: &'static str| {
        let at = |point: &str| v(&format!("T_{point}_{group}"));
        Cardinal::from_celsius(at("min"), at("opt"), at("max"))
            .filter(|c| c.response(REFERENCE_K).0 > 0.0)
            .map(TemperatureLaw::Cardinal)
            .ok_or(NetworkFault::Temperatures { group })
    };
    let ph = |low: &'static str, high: &'static str| {
        PhBand::from_bounds(v(low), v(high))
            .map(Factor::Ph)
            .ok_or(NetworkFault::PhBounds { low, high })
    };
    let hydrolysis = b.law(TemperatureLaw::Arrhenius {
        energy: 1000.0 * v("E_hyd"),
    });
    let decay = b.law(TemperatureLaw::Arrhenius {
        energy: 1000.0 * v("E_dec"),
    });
    let acid_law = b.law(cardinal("acid")?);
    let methane_law = b.law(cardinal("meth")?);

    // Stage 1
    let ph_hydrolysis = ph("pH_low_hyd", "pH_high_hyd")?;
    let fat_acid = v("f_fa_li");
    for (from, name, key, row) in [
        (
            cf,
            "hydrolysis of fast carbohydrate",
            "k_hyd_cf",
            vec![(cf, -1.0), (su, 1.0)],
        ),
        (
            cs,
            "hydrolysis of fibre",
            "k_hyd_cs",
            vec![(cs, -1.0), (su, 1.0)],
        ),
        (
            pr,
            "hydrolysis of protein",
            "k_hyd_pr",
            vec![(pr, -1.0), (aa, 1.0)],
        ),
        (
            li,
            "hydrolysis of fat",
            "k_hyd_li",
            vec![(li, -1.0), (fa, fat_acid), (su, 1.0 - fat_acid)],
        ),
    ] {
        let k = b.coefficient(key, v(key), hydrolysis);
        b.process(name, &row, k, &[Factor::Amount(from), ph_hydrolysis]);
        b.pool(from, k);
    }

    // Stages 2 to 4: uptake k_m S/(K_S + S) X with the inhibitions of each group; see `limit_uptake` for the rest.
    let two_sided = |bottom: [&'static str; 2], top: [&'static str; 2]| {
        let fault = |[low, high]: [&'static str; 2]| NetworkFault::PhBounds { low, high };
        let band = PhBand::from_bounds(v(bottom[0]), v(bottom[1])).ok_or(fault(bottom))?;
        let band = band.with_top(v(top[0]), v(top[1])).ok_or(fault(top))?;
        Ok::<_, NetworkFault>(Factor::Ph(band))
    };
    let ph_acid = two_sided(
        ["pH_low_acid", "pH_high_acid"],
        ["pH_fade_acid", "pH_end_acid"],
    )?;
    let ph_ac = two_sided(["pH_low_ac", "pH_high_ac"], ["pH_fade_ac", "pH_end_ac"])?;
    let ph_h2 = two_sided(["pH_low_h2", "pH_high_h2"], ["pH_fade_h2", "pH_end_h2"])?;
    let hydrogen = |key: &str| Factor::Inhibition {
        by: Signal::Component(h2),
        k: v(key),
    };
    let ammonia = Factor::Inhibition {
        by: Signal::Level {
            acid: ammonium,
            level: 1,
        },
        k: v("K_I_nh3"),
    };
    let optional = |key: &str, acid: usize| {
        let k = v(key);
        (k > 0.0).then_some(Factor::Inhibition {
            by: Signal::Level { acid, level: 0 },
            k,
        })
    };
    let sour = optional("K_I_acid", acetic);
    let sulfide = optional("K_I_h2s", sulfidic);
    // Products by the names of their shares; the last one takes what is left.
    let rest = |parts: &[(usize, &'static str)], last: usize| {
        let names: Vec<&'static str> = parts.iter().map(|&(_, key)| key).collect();
        let left = remainder(parameters, &names)?;
        let mut all: Vec<(usize, f64)> = parts.iter().map(|&(i, key)| (i, v(key))).collect();
        all.push((last, left));
        Ok::<_, NetworkFault>(all)
    };
    let uptakes = [
        (
            "su",
            su,
            "uptake of sugars",
            rest(&[(bu, "f_bu_su"), (pro, "f_pro_su"), (ac, "f_ac_su")], h2)?,
            vec![ph_acid],
        ),
        (
            "aa",
            aa,
            "uptake of amino acids",
            rest(&[(bu, "f_bu_aa"), (pro, "f_pro_aa"), (ac, "f_ac_aa")], h2)?,
            vec![ph_acid],
        ),
        (
            "fa",
            fa,
            "uptake of long-chain acids",
            rest(&[(ac, "f_ac_fa")], h2)?,
            vec![ph_acid, hydrogen("K_I_h2_fa")],
        ),
        (
            "c4",
            bu,
            "uptake of butyrate",
            rest(&[(ac, "f_ac_bu")], h2)?,
            vec![ph_acid, hydrogen("K_I_h2_c4")],
        ),
        (
            "pro",
            pro,
            "uptake of propionate",
            rest(&[(ac, "f_ac_pro")], h2)?,
            [Some(ph_acid), Some(hydrogen("K_I_h2_pro")), sour]
                .into_iter()
                .flatten()
                .collect(),
        ),
        (
            "ac",
            ac,
            "uptake of acetate",
            vec![(ch4, 1.0)],
            [Some(ph_ac), Some(ammonia), sour, sulfide]
                .into_iter()
                .flatten()
                .collect(),
        ),
        (
            "h2",
            h2,
            "uptake of hydrogen",
            vec![(ch4, 1.0)],
            [Some(ph_h2), sulfide].into_iter().flatten().collect(),
        ),
    ];
    for ((key, from, name, products, inhibitions), &cells) in uptakes.into_iter().zip(&x) {
        let y = v(&format!("Y_{key}"));
        let mut row = vec![(from, -1.0), (cells, y)];
        row.extend(products.into_iter().map(|(i, f)| (i, f * (1.0 - y))));
        let law = if matches!(key, "ac" | "h2") {
            methane_law
        } else {
            acid_law
        };
        let km = format!("k_m_{key}");
        let k = b.coefficient(km.clone(), v(&km), law);
        let mut factors = vec![
            Factor::Saturation {
                of: from,
                k: v(&format!("K_S_{key}")),
            },
            Factor::Living(cells),
        ];
        factors.extend(inhibitions);
        b.process(name, &row, k, &factors);
    }

    let (dead_pr, dead_cf, dead_li) = (v("f_pr_dead"), v("f_cf_dead"), v("f_li_dead"));
    let dead_rest = remainder(parameters, &["f_pr_dead", "f_cf_dead", "f_li_dead"])?;
    let k = b.coefficient("k_dec", v("k_dec"), decay);
    for &cells in &x {
        let row = [
            (cells, -1.0),
            (pr, dead_pr),
            (cf, dead_cf),
            (li, dead_li),
            (xi, dead_rest),
        ];
        b.process("decay", &row, k, &[Factor::Amount(cells)]);
    }
    b.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whatever_takes_up_carbon_nitrogen_or_sulphur_ends_where_there_is_none() {
        let n = four_stage(&Parameters::four_stage()).unwrap();
        let mut takers = Vec::new();
        for name in ["S_IC", "S_IN", "S_IS"] {
            let i = n.index(name).unwrap();
            for p in &n.processes {
                if p.row.iter().all(|&(j, v)| j != i || v > -1e-12) {
                    continue;
                }
                let saturates =
                    |f: &usize| matches!(n.factors[*f], Factor::Saturation { of, .. } if of == i);
                assert!(
                    p.factors.iter().any(saturates),
                    "{} takes up {name}",
                    p.name
                );
                takers.push((name, p.name.as_str()));
            }
        }
        // The hydrogen users make methane of carbon dioxide; C16H32O2 and butyrate give less of it than cells take.
        for taker in [
            ("S_IC", "uptake of hydrogen"),
            ("S_IC", "uptake of long-chain acids"),
            ("S_IC", "uptake of butyrate"),
            ("S_IN", "uptake of acetate"),
        ] {
            assert!(takers.contains(&taker), "{taker:?} in {takers:?}");
        }
    }
}
