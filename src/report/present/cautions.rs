//! What can hurt around a digester. Every report carries them.

use super::words::bind;
use crate::report::document::Caution;

/// (title, text, source). `from memory` marks what could not be read again.
const CAUTIONS: [(&str, &str, &str); 8] = [
    (
        "Methane explodes in air",
        "A mixture of about 5 to 15 % methane in air explodes at a spark. Work outdoors or with wide \
         open doors, keep flames, switches and tobacco away from the gas side, and let the first gas, \
         which still holds air, go into the open: never light it at the digester. The gas of a sour tank \
         holds hydrogen too, which explodes from 4 to 75 %.",
        "Limits 5 and 15 % by volume: common handbook values, from memory; IEC tables give 4.4 % as the \
         lower limit, from memory. Hydrogen 4 and 75 %: common handbook values, from memory.",
    ),
    (
        "Hydrogen sulphide kills, and the nose stops warning",
        "Raw gas often holds hundreds to thousands of ppm. At 100 ppm there is immediate danger to life; \
         at higher concentrations it can no longer be smelt, and about 1000 ppm kill at once. Raw gas \
         thinned with air until it no longer explodes may still poison.",
        "NIOSH: ceiling 10 ppm over ten minutes, immediately dangerous 100 ppm. Loss of smell and 1000 ppm: \
         common handbook values, from memory.",
    ),
    (
        "Never enter or lean into a tank, pit or store",
        "Carbon dioxide, methane and hydrogen sulphide displace the air and collect in hollows. Rescuers \
         die with the first victim. Empty and rinse from outside, and leave entry to people trained and \
         equipped for confined spaces.",
        "Carbon dioxide: immediately dangerous from 40 000 ppm (NIOSH, from memory).",
    ),
    (
        "No pressure",
        "Tanks, drums, bags and bells here are not pressure vessels. Keep the gas below 5 kPa (50 mbar) \
         with a water seal that blows off outdoors, and never fill gas bottles, tyres or other closed \
         vessels with it.",
        "5 kPa is the bound of ISO 23590:2020, household biogas systems.",
    ),
    (
        "Burning in a room",
        "A starved burner gives carbon monoxide; engines always do. Burn only with fresh air and an \
         exhaust to the outside, and set up a carbon monoxide alarm.",
        "Common practice, no source.",
    ),
    (
        "Do not let methane escape",
        "Over a hundred years a kilogram of methane warms as much as 27 kg of carbon dioxide. Where about \
         9 % of the methane escapes (3 % counted over 20 years), the plant warms more than the natural gas \
         that it replaces. Find leaks, cover the residue store, and burn what is left over.",
        "IPCC AR6: warming potential 27.0 over 100 years, non-fossil; 79.7 over 20 years, from memory. \
         The break-even shares are computed from these.",
    ),
    (
        "Residue carries germs",
        "Manure and food waste hold salmonella, coli bacteria and worm eggs, and a cool digester does not \
         kill them all. Wear gloves, wash hands, keep it off salad, vegetables eaten raw and wells; rules \
         for animal by-products may ask for an hour at 70 C.",
        "70 C for one hour: EU rules on animal by-products (1069/2009, 142/2011).",
    ),
    (
        "Local rules and licensed people",
        "Gas pipes, burners, engines, electrical work near gas, and distances to houses and wells are under \
         local rules, and much of it is reserved to licensed people. This report is a computation and \
         replaces neither.",
        "Common practice, no source.",
    ),
];

/// The cautions of every report.
pub(super) fn cautions() -> Vec<Caution> {
    CAUTIONS
        .iter()
        .map(|(title, text, source)| Caution {
            title: (*title).into(),
            text: bind(text),
            source: bind(source),
        })
        .collect()
}
