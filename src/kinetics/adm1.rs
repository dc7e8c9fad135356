//! ADM1 (Batstone et al. 2002) in the BSM2 setting (Rosen and Jeppsson 2006), as a list for the common engine.

use super::component::{Component, Group, H2_TOLERANCE};
use super::network::{AcidKind, Builder, GasForm, GasKind, Network, NetworkFault};
use super::parameters::{Parameters, whole};
use super::rate::{Factor, Signal};
use crate::chemistry::{ConstantSet, PhBand};
use crate::units::cod::{ACETIC, BUTYRIC, PROPIONIC, VALERIC};
use crate::units::{COD_CH4, COD_H2};

/// Builds the network from its parameters.
///
/// # Errors
/// [`NetworkFault`] if changed parameters contradict each other.
pub fn adm1(parameters: &Parameters) -> Result<Network, NetworkFault> {
    // Every name below stands in the embedded list; a test builds the network from it.
    let v = |name: &str| parameters.value(name).unwrap_or(f64::NAN);
    let mut b = Builder::new("adm1", ConstantSet::Published);
    let c = |name, words, group, carbon: &str, n: f64| {
        Component::organic(
            name,
            words,
            group,
            if carbon.is_empty() { 0.0 } else { v(carbon) },
            n,
            0.0,
        )
    };
    let su = b.component(c("S_su", "sugars", Group::Dissolved, "C_su", 0.0));
    let aa = b.component(c(
        "S_aa",
        "amino acids",
        Group::Dissolved,
        "C_aa",
        v("N_aa"),
    ));
    let fa = b.component(c("S_fa", "long-chain acids", Group::Dissolved, "C_fa", 0.0));
    let va = b.component(c("S_va", "valerate", Group::Dissolved, "C_va", 0.0));
    let bu = b.component(c("S_bu", "butyrate", Group::Dissolved, "C_bu", 0.0));
    let pro = b.component(c("S_pro", "propionate", Group::Dissolved, "C_pro", 0.0));
    let ac = b.component(c("S_ac", "acetate", Group::Dissolved, "C_ac", 0.0));
    let h2 = b.component(c("S_h2", "hydrogen", Group::Dissolved, "", 0.0).tolerance(H2_TOLERANCE));
    let ch4 = b.component(c("S_ch4", "methane", Group::Dissolved, "C_ch4", 0.0));
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
    let si = b.component(c(
        "S_I",
        "dissolved inert matter",
        Group::Inert,
        "C_sI",
        v("N_I"),
    ));
    let xc = b.component(c("X_c", "composite", Group::Degradable, "C_xc", v("N_xc")));
    let ch = b.component(c("X_ch", "carbohydrate", Group::Degradable, "C_ch", 0.0));
    let pr = b.component(c("X_pr", "protein", Group::Degradable, "C_pr", v("N_aa")));
    let li = b.component(c("X_li", "fat", Group::Degradable, "C_li", 0.0));
    let x: [usize; 7] = [
        ("X_su", "sugar fermenters"),
        ("X_aa", "amino-acid fermenters"),
        ("X_fa", "long-chain-acid degraders"),
        ("X_c4", "valerate and butyrate degraders"),
        ("X_pro", "propionate degraders"),
        ("X_ac", "acetate-using methanogens"),
        ("X_h2", "hydrogen-using methanogens"),
    ]
    .map(|(name, words)| b.component(c(name, words, Group::Living, "C_bac", v("N_bac"))));
    let xi = b.component(c("X_I", "inert matter", Group::Inert, "C_xI", v("N_I")));
    b.component(Component::ion("S_cat", "strong cations", 1.0));
    b.component(Component::ion("S_an", "strong anions", -1.0));
    b.close_with(Some(ic), Some(nh), None);

    b.acid(ic, 1.0, AcidKind::Carbonic, 0, 1);
    let ammonium = b.acid(nh, 1.0, AcidKind::Ammonium, 1, 1);
    b.acid(ac, 1.0 / ACETIC, AcidKind::Acetic, 0, 1);
    b.acid(pro, 1.0 / PROPIONIC, AcidKind::Propionic, 0, 1);
    b.acid(bu, 1.0 / BUTYRIC, AcidKind::Butyric, 0, 1);
    b.acid(va, 1.0 / VALERIC, AcidKind::Valeric, 0, 1);
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
    b.gas(GasKind::Air, GasForm::None);

    let constant = 0;
    let first_order =
        |b: &mut Builder, name: &str, key: &str, from: usize, row: &[(usize, f64)]| {
            let k = b.coefficient(key, v(key), constant);
            b.process(name, row, k, &[Factor::Amount(from)]);
        };
    let (f_si, f_xi, f_ch, f_pr) = (v("f_sI_xc"), v("f_xI_xc"), v("f_ch_xc"), v("f_pr_xc"));
    let f_li = v("f_li_xc");
    whole(
        parameters,
        &["f_sI_xc", "f_xI_xc", "f_ch_xc", "f_pr_xc", "f_li_xc"],
    )?;
    first_order(
        &mut b,
        "disintegration",
        "k_dis",
        xc,
        &[
            (xc, -1.0),
            (si, f_si),
            (xi, f_xi),
            (ch, f_ch),
            (pr, f_pr),
            (li, f_li),
        ],
    );
    first_order(
        &mut b,
        "hydrolysis of carbohydrate",
        "k_hyd_ch",
        ch,
        &[(ch, -1.0), (su, 1.0)],
    );
    first_order(
        &mut b,
        "hydrolysis of protein",
        "k_hyd_pr",
        pr,
        &[(pr, -1.0), (aa, 1.0)],
    );
    let f_fa = v("f_fa_li");
    first_order(
        &mut b,
        "hydrolysis of fat",
        "k_hyd_li",
        li,
        &[(li, -1.0), (fa, f_fa), (su, 1.0 - f_fa)],
    );

    let ph = |low: &'static str, high: &'static str| {
        PhBand::from_bounds(v(low), v(high))
            .map(Factor::Ph)
            .ok_or(NetworkFault::PhBounds { low, high })
    };
    let ph_acid = ph("pH_LL_aa", "pH_UL_aa")?;
    let ph_ac = ph("pH_LL_ac", "pH_UL_ac")?;
    let ph_h2 = ph("pH_LL_h2", "pH_UL_h2")?;
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
    let starving = Factor::Saturation {
        of: nh,
        k: v("K_S_IN"),
    };
    let f = |keys: &[(usize, &str)]| keys.iter().map(|&(i, key)| (i, v(key))).collect::<Vec<_>>();
    type Uptake = (
        &'static str,
        &'static str,
        usize,
        usize,
        Vec<(usize, f64)>,
        Vec<Factor>,
    );
    let uptakes: [Uptake; 8] = [
        (
            "su",
            "sugars",
            su,
            x[0],
            f(&[
                (bu, "f_bu_su"),
                (pro, "f_pro_su"),
                (ac, "f_ac_su"),
                (h2, "f_h2_su"),
            ]),
            vec![ph_acid],
        ),
        (
            "aa",
            "amino acids",
            aa,
            x[1],
            f(&[
                (va, "f_va_aa"),
                (bu, "f_bu_aa"),
                (pro, "f_pro_aa"),
                (ac, "f_ac_aa"),
                (h2, "f_h2_aa"),
            ]),
            vec![ph_acid],
        ),
        (
            "fa",
            "long-chain acids",
            fa,
            x[2],
            f(&[(ac, "f_ac_fa"), (h2, "f_h2_fa")]),
            vec![ph_acid, hydrogen("K_Ih2_fa")],
        ),
        (
            "c4",
            "valerate",
            va,
            x[3],
            f(&[(pro, "f_pro_va"), (ac, "f_ac_va"), (h2, "f_h2_va")]),
            vec![
                ph_acid,
                hydrogen("K_Ih2_c4"),
                Factor::Share { of: va, other: bu },
            ],
        ),
        (
            "c4",
            "butyrate",
            bu,
            x[3],
            f(&[(ac, "f_ac_bu"), (h2, "f_h2_bu")]),
            vec![
                ph_acid,
                hydrogen("K_Ih2_c4"),
                Factor::Share { of: bu, other: va },
            ],
        ),
        (
            "pro",
            "propionate",
            pro,
            x[4],
            f(&[(ac, "f_ac_pro"), (h2, "f_h2_pro")]),
            vec![ph_acid, hydrogen("K_Ih2_pro")],
        ),
        (
            "ac",
            "acetate",
            ac,
            x[5],
            vec![(ch4, 1.0)],
            vec![ph_ac, ammonia],
        ),
        ("h2", "hydrogen", h2, x[6], vec![(ch4, 1.0)], vec![ph_h2]),
    ];
    for (key, words, from, cells, products, inhibitions) in uptakes {
        let y = v(&format!("Y_{key}"));
        let mut row = vec![(from, -1.0), (cells, y)];
        row.extend(
            products
                .into_iter()
                .map(|(i, share)| (i, share * (1.0 - y))),
        );
        let km = format!("k_m_{key}");
        let k = b.coefficient(km.clone(), v(&km), constant);
        let mut factors = vec![
            Factor::Saturation {
                of: from,
                k: v(&format!("K_S_{key}")),
            },
            Factor::Living(cells),
            starving,
        ];
        factors.extend(inhibitions);
        b.process(format!("uptake of {words}"), &row, k, &factors);
    }
    let k = b.coefficient("k_dec", v("k_dec"), constant);
    for &cells in &x {
        b.process(
            "decay",
            &[(cells, -1.0), (xc, 1.0)],
            k,
            &[Factor::Amount(cells)],
        );
    }
    b.finish()
}
