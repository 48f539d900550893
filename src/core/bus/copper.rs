//! Copper conductors: area from a gauge, and resistance for each metre from area and temperature.

use crate::core::units::{Celsius, Metres, OhmsPerMetre, Quantity, SquareMillimetres};

/// Resistivity of annealed copper at 20 °C: 1/58 Ω·mm²/m (IEC 60028).
const RESISTIVITY: f64 = 1.0 / 58.0;
/// Its change for each kelvin at 20 °C: 0.393 % (IEC 60028).
const PER_KELVIN: f64 = 0.00393;

/// Gauges of data wires, coarse to fine, that are read as AWG.
pub const GAUGES: (u32, u32) = (10, 30);

/// Diameter of a wire of this American gauge; 0 is 1/0, −1 is 2/0 and so on.
///
/// d = 0.127 mm · 92^((36 − n)/39) (ASTM B258).
pub fn diameter_of_gauge(gauge: i32) -> Option<Metres> {
    Metres::new(0.127e-3 * 92f64.powf((36.0 - f64::from(gauge)) / 39.0)).ok()
}

/// The area of a wire of this American gauge; `None` outside [`GAUGES`].
pub fn area_of_gauge(gauge: u32) -> Option<SquareMillimetres> {
    if !(GAUGES.0..=GAUGES.1).contains(&gauge) {
        return None;
    }
    diameter_of_gauge(gauge as i32).and_then(area_of_diameter)
}

/// The area of a round wire.
pub fn area_of_diameter(diameter: Metres) -> Option<SquareMillimetres> {
    SquareMillimetres::new(std::f64::consts::FRAC_PI_4 * diameter.get() * diameter.get() * 1e6).ok()
}

/// Resistance of one conductor for each metre. `None` beyond what the quantity can hold.
pub fn resistance(area: SquareMillimetres, temperature: Celsius) -> Option<OhmsPerMetre> {
    at_temperature(OhmsPerMetre::new(RESISTIVITY / area.get()).ok()?, temperature)
}

/// The resistance at a temperature of a conductor whose resistance at 20 °C is known.
pub fn at_temperature(at_20: OhmsPerMetre, temperature: Celsius) -> Option<OhmsPerMetre> {
    OhmsPerMetre::new(at_20.get() * (1.0 + PER_KELVIN * (temperature.get() - 20.0))).ok()
}

/// The least area that has no more than this resistance.
pub fn area_for(per_metre: OhmsPerMetre, temperature: Celsius) -> Option<SquareMillimetres> {
    if per_metre.get() <= 0.0 {
        return None;
    }
    let area = RESISTIVITY / per_metre.get() * (1.0 + PER_KELVIN * (temperature.get() - 20.0));
    SquareMillimetres::new(area).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn area_and_resistance_are_each_others_way_back() {
        let (area, warm) = (SquareMillimetres::of(0.34), Celsius::of(60.0));
        let back = area_for(resistance(area, warm).unwrap(), warm).unwrap();
        assert!((back.get() - 0.34).abs() < 1e-12);
        assert_eq!(area_of_gauge(9), None);
        assert_eq!(area_of_gauge(31), None);
    }
}
