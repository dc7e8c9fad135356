//! What a report says of a heater that lives on the digester's own gas.

use marshgas::digester::Bands;
use marshgas::report::{self, Document};
use marshgas::scenario;
use marshgas::simulate;
use serde_json::{Value, json};

/// The heated tote under 5 cm of foam in its first two months, with its heater changed.
fn document(change: impl Fn(&mut Value)) -> Document {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/heated-tote.json");
    let text = std::fs::read_to_string(path).unwrap();
    let mut tote: Value = serde_json::from_str(&text).unwrap();
    tote["days"] = json!(60);
    let heat = &mut tote["vessels"][0]["temperature"]["heat"];
    heat["foam_cm"] = json!(5);
    change(&mut heat["heater"]);
    let case = scenario::from_value(&tote, "tote.json", None).unwrap().case;
    let outcome = simulate::run(&case, &mut |_| ()).unwrap();
    report::run(&outcome, &Bands::standard())
}

#[test]
fn warmth_that_the_gas_does_not_give_comes_first_and_is_not_called_held() {
    let found = document(|_| ());
    let story = found.story.join(" ").replace('\u{a0}', " ");
    assert!(story.contains("This warmth cannot be held"), "{story}");
    assert!(
        story.contains("of 60 days the boiler was asked for"),
        "{story}"
    );
    assert!(
        found.advice[0].starts_with("Do not count on this warmth"),
        "{:?}",
        found.advice
    );
    let all = found.advice.join(" ");
    assert!(!all.contains("ends in good health"), "{all}");
}

#[test]
fn an_engine_gives_half_of_its_gas_as_heat_and_mains_are_not_bound() {
    let engine = document(|heater| {
        *heater = json!({"power_w": 300, "set_c": 33, "source": "engine-waste"});
    });
    let story = engine.story.join(" ").replace('\u{a0}', " ");
    // The table of the appliances gives 50 %.
    assert!(story.contains("(50 % of the gas's energy)"), "{story}");
    assert!(
        engine.advice[0].starts_with("Do not count on this warmth"),
        "{:?}",
        engine.advice
    );
    let mains = document(|heater| {
        *heater = json!({"power_w": 300, "set_c": 33, "source": "mains"});
    });
    let all = mains.advice.join(" ");
    assert!(!all.contains("Do not count"), "{all}");
}
