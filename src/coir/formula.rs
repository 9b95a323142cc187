//! Reads the formula of a salt as ions and water of hydration.
//!
//! ```text
//! formula = part { "." part }                  5Ca(NO3)2.NH4NO3.10H2O
//! part    = [count] item { item }
//! item    = ion [count] | "(" ion ")" [count]  a bare ion of several atoms takes no count
//! ```

use super::error::CoirError;
use super::ion::{Amounts, Ion, water_g_per_mol};

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
        loop {
            reader.part(&mut whole)?;
            if reader.rest.is_empty() {
                break;
            }
            if !(reader.eat(".") || reader.eat("·")) {
                return Err(reader.expected("an ion, a number, `.` or the end"));
            }
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

    pub fn molar_mass_g(&self) -> f64 {
        self.ions_g() + self.waters * water_g_per_mol()
    }

    /// Molar mass without the water of hydration.
    pub fn ions_g(&self) -> f64 {
        self.ions.iter().map(|(ion, count)| ion.molar_mass_g() * count).sum()
    }
}

struct Reader<'a> {
    formula: &'a str,
    rest: &'a str,
}

impl Reader<'_> {
    fn part(&mut self, whole: &mut FormulaUnit) -> Result<(), CoirError> {
        let times = self.count()?;
        self.item(times, whole)?;
        while !(self.rest.is_empty() || self.rest.starts_with(['.', '·'])) {
            self.item(times, whole)?;
        }
        Ok(())
    }

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
        let ions = Ion::ALL.into_iter().map(|ion| (ion.symbol(), Some(ion)));
        let longest = ions
            .chain([("H2O", None)])
            .filter(|(symbol, _)| self.rest.starts_with(symbol))
            .max_by_key(|(symbol, _)| symbol.len());
        match longest {
            Some((symbol, unit)) => {
                self.eat(symbol);
                Ok(unit)
            }
            None => Err(self.expected("one of Na, K, NH4, Ca, Mg, Cl, NO3, SO4, HCO3, H2O")),
        }
    }

    /// A whole number from 1 to 9999; 1 where none is written.
    fn count(&mut self) -> Result<f64, CoirError> {
        let digits = self.rest.bytes().take_while(u8::is_ascii_digit).count();
        if digits == 0 {
            return Ok(1.0);
        }
        match self.rest[..digits].parse::<u16>() {
            Ok(count @ 1..=9999) => {
                self.rest = &self.rest[digits..];
                Ok(f64::from(count))
            }
            _ => Err(self.expected("a number from 1 to 9999")),
        }
    }

    fn eat(&mut self, token: &str) -> bool {
        match self.rest.strip_prefix(token) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn expected(&self, expected: &'static str) -> CoirError {
        let at = self.formula.chars().count() - self.rest.chars().count();
        CoirError::Formula { formula: self.formula.to_owned(), at, expected }
    }
}
