//! Reads the formula of a salt as ions and water of hydration.
//!
//! ```text
//! formula = part { "." part }                  5Ca(NO3)2.NH4NO3.10H2O
//! part    = [count] item { item }
//! item    = ion [count] | "(" ion ")" [count]  a bare ion of several atoms takes no count
//! ```

use super::error::CoirError;
use super::ion::{Amounts, Ion};

/// What one formula unit is made of.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct FormulaUnit {
    pub ions: Amounts,
    pub waters: f64,
}

impl FormulaUnit {
    pub fn parse(formula: &str) -> Result<Self, CoirError> {
        let mut reader = Reader { formula, rest: formula };
        let mut whole = Self::default();
        let mut times = reader.count()?;
        reader.item(times, &mut whole)?;
        while !reader.rest.is_empty() {
            if reader.eat(".") || reader.eat("·") {
                times = reader.count()?;
            }
            reader.item(times, &mut whole)?;
        }
        let charge = whole.ions.charge();
        if charge != 0.0 {
            return Err(CoirError::Charged { formula: formula.to_owned(), charge });
        }
        if whole.ions == Amounts::ZERO {
            return Err(reader.expected("at least one ion"));
        }
        Ok(whole)
    }
}

struct Reader<'a> {
    formula: &'a str,
    rest: &'a str,
}

impl Reader<'_> {
    fn item(&mut self, times: f64, whole: &mut FormulaUnit) -> Result<(), CoirError> {
        let bracketed = self.eat("(");
        let unit = self.unit()?;
        if bracketed && !self.eat(")") {
            return Err(self.expected("`)`"));
        }
        let countable = bracketed || unit.is_some_and(Ion::is_one_atom);
        let count = times * if countable { self.count()? } else { 1.0 };
        match unit {
            Some(ion) => whole.ions[ion] += count,
            None => whole.waters += count,
        }
        Ok(())
    }

    /// An ion, or `None` for water. The longest symbol that fits: `NaHCO3` is Na and HCO3, `NH4NO3` is NH4 and NO3.
    fn unit(&mut self) -> Result<Option<Ion>, CoirError> {
        let units = Ion::all().map(|ion| (ion.word(), Some(ion))).chain([("H2O", None)]);
        let longest = units.filter(|(symbol, _)| self.rest.starts_with(symbol)).max_by_key(|(symbol, _)| symbol.len());
        let Some((symbol, unit)) = longest else {
            return Err(self.expected("one of Na, K, NH4, Ca, Mg, Cl, NO3, SO4, HCO3, H2O"));
        };
        self.eat(symbol);
        Ok(unit)
    }

    /// A whole number from 1 to 9999; 1 where none is written.
    fn count(&mut self) -> Result<f64, CoirError> {
        let digits = self.rest.bytes().take_while(u8::is_ascii_digit).count();
        let (number, rest) = self.rest.split_at(digits);
        let count = if digits == 0 { Ok(1) } else { number.parse::<u16>() };
        let Ok(count @ 1..=9999) = count else { return Err(self.expected("a number from 1 to 9999")) };
        self.rest = rest;
        Ok(f64::from(count))
    }

    fn eat(&mut self, token: &str) -> bool {
        let rest = self.rest.strip_prefix(token);
        self.rest = rest.unwrap_or(self.rest);
        rest.is_some()
    }

    fn expected(&self, expected: &'static str) -> CoirError {
        let at = self.formula.chars().count() - self.rest.chars().count();
        CoirError::Formula { formula: self.formula.to_owned(), at, expected }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_count_holds_for_its_part() {
        let salt = FormulaUnit::parse("5Ca(NO3)2.NH4NO3.10H2O").unwrap();
        let ions = [Ion::Calcium, Ion::Ammonium, Ion::Nitrate].map(|ion| salt.ions[ion]);
        assert_eq!((ions, salt.waters), ([5.0, 1.0, 11.0], 10.0));
        assert_eq!(FormulaUnit::parse("Ca(NO3)2·4H2O"), FormulaUnit::parse("Ca(NO3)2.4H2O"));
    }

    /// A fault stands at its character, however many bytes come before it.
    #[test]
    fn a_fault_has_its_place() {
        let cases = [
            ("", 0),
            ("CaXO4", 2),
            ("Ca(NO3", 6),
            ("((Ca))Cl2", 1),
            ("CaCl2.", 6),
            ("CaCl2·X", 6),
            ("CaCl0", 4),
            ("4H2O", 4),
        ];
        for (formula, place) in cases {
            let fault = FormulaUnit::parse(formula).unwrap_err();
            assert!(matches!(fault, CoirError::Formula { at, .. } if at == place), "{formula}: {fault:?}");
        }
        assert!(matches!(FormulaUnit::parse("CaCl"), Err(CoirError::Charged { charge: 1.0, .. })));
    }
}
