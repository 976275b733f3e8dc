//! Rows of the trade's tables that the bench file overrules.

use super::limits::{BENCH_FILE, Source, State, WallLimit};
use super::mechanics::{Mechanics, mechanics};
use super::metals::{METALS, Metal};
use super::processes::{Limit, PROCESSES, Process};
use super::rows::{Row, rows};
use super::wearing::{Wearing, wearing};
use crate::spelling::near_word;
use crate::units::Mm;
use serde::Serialize;

/// A number of one's own may be this many times the table's, or as many times less: farther off it is of another unit.
const FAR: f64 = 10.0;

/// One number that is overruled.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overruled {
    /// Table.
    pub table: &'static str,
    /// Row.
    pub row: String,
    /// Column.
    pub column: &'static str,
    /// The maker's number.
    pub value: f64,
    /// The table's.
    pub instead_of: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Where the maker's comes from.
    pub source: &'static str,
}

impl Overruled {
    /// Where it stands, in words: `walls, claw, finished`.
    #[must_use]
    pub fn place(&self) -> String {
        format!("{}, {}, {}", self.table, self.row, self.column)
    }
    /// `0.5 mm by the bench file, 0.6 in the table`.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "{} {} by the {}, {} in the table",
            digits(self.value),
            self.unit,
            self.source,
            digits(self.instead_of)
        )
    }
}

/// A number of a table without dust.
#[must_use]
pub fn digits(x: f64) -> String {
    format!("{}", (x * 1e5).round() / 1e5)
}

/// All of them, and the density of an alloy that no table has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Own {
    list: Vec<Overruled>,
    /// Density of the alloy at hand, g/cm3, whatever the design calls it.
    pub alloy_density: Option<f64>,
}

/// Source of a row of which some numbers are the maker's.
const MIXED: &str = "bench file for what it gives, the table for the rest";

impl Own {
    /// The maker's number; `None` where the table stands.
    #[must_use]
    pub fn get(&self, table: &str, row: &str, column: &str) -> Option<f64> {
        self.find(table, row, column).map(|o| o.value)
    }
    fn find(&self, table: &str, row: &str, column: &str) -> Option<&Overruled> {
        self.list.iter().find(|o| o.table == table && o.row == row && o.column == column)
    }
    /// The maker's number, or the usual one.
    #[must_use]
    pub fn or(&self, table: &str, row: &str, column: &str, usual: f64) -> f64 {
        self.get(table, row, column).unwrap_or(usual)
    }
    /// What is overruled.
    #[must_use]
    pub fn list(&self) -> &[Overruled] {
        &self.list
    }
    /// Least thickness of a class of wall, the state it really speaks of, and where it comes from.
    #[must_use]
    pub fn wall(&self, limit: &WallLimit, state: State) -> (Mm, State, Source) {
        let (usual, state) = limit.at(state);
        match self.get("walls", limit.class, state.word()) {
            Some(own) => (Mm(own), state, Source::BenchFile),
            None => (usual, state, limit.source),
        }
    }
    /// Least thickness of a finished wall, mm.
    #[must_use]
    pub fn finished(&self, limit: &WallLimit) -> f64 {
        self.wall(limit, State::Finished).0.get()
    }
    /// Density of a metal, g/cm3, and where it comes from.
    #[must_use]
    pub fn density(&self, metal: &Metal) -> (f64, &'static str) {
        match self.alloy_density.or_else(|| self.get("metals", metal.key, "density")) {
            Some(own) => (own, BENCH_FILE),
            None => (metal.density, metal.source),
        }
    }
    /// Stiffness and strength of an alloy by its number.
    #[must_use]
    pub fn mechanics(&self, alloy: usize) -> Mechanics {
        let m = *mechanics(alloy);
        let of = |column, usual| self.or("mechanics", m.key, column, usual);
        Mechanics {
            modulus: of("modulus", m.modulus),
            yield_annealed: of("yield_annealed", m.yield_annealed),
            ultimate_annealed: of("ultimate_annealed", m.ultimate_annealed),
            yield_hard: of("yield_hard", m.yield_hard),
            source: self.source("mechanics", m.key, m.source),
            ..m
        }
    }
    /// Hardness, hard strength and solder of an alloy by its number.
    #[must_use]
    pub fn wearing(&self, alloy: usize) -> Wearing {
        let w = *wearing(alloy);
        let of = |column, usual| self.or("wearing", w.key, column, usual);
        Wearing {
            hardness: of("hardness", w.hardness),
            ultimate_hard: of("ultimate_hard", w.ultimate_hard),
            solder: of("solder", w.solder),
            source: self.source("wearing", w.key, w.source),
            ..w
        }
    }
    /// What a process can make, by its number.
    #[must_use]
    pub fn process(&self, number: usize) -> Process {
        let p = PROCESSES[number.min(PROCESSES.len() - 1)];
        let of = |column, usual: Limit| {
            self.get("processes", p.name, column).map_or(usual, |value| Limit { value, source: BENCH_FILE })
        };
        Process {
            wall: of("wall", p.wall),
            pin: of("pin", p.pin),
            gap: of("gap", p.gap),
            hole: of("hole", p.hole),
            deep: of("deepest_hole", p.deep),
            raised: of("raised_line", p.raised),
            engraved: of("engraved_line", p.engraved),
            edge: of("hollow_edge_radius", p.edge),
            ..p
        }
    }
    fn source(&self, table: &str, row: &str, usual: &'static str) -> &'static str {
        if self.list.iter().any(|o| o.table == table && o.row == row) { MIXED } else { usual }
    }
    /// What the maker's numbers say against one another, in words with the table and row.
    #[must_use]
    pub fn contradictions(&self) -> Vec<String> {
        let mut out = Vec::new();
        for (i, m) in METALS.iter().enumerate() {
            let (s, w) = (self.mechanics(i), self.wearing(i));
            for (low, least, high, most) in [
                ("yield_annealed", s.yield_annealed, "ultimate_annealed", s.ultimate_annealed),
                ("yield_annealed", s.yield_annealed, "yield_hard", s.yield_hard),
                ("yield_hard", s.yield_hard, "ultimate_hard of wearing", w.ultimate_hard),
                ("ultimate_annealed", s.ultimate_annealed, "ultimate_hard of wearing", w.ultimate_hard),
            ] {
                if least >= most {
                    let key = m.key;
                    out.push(format!("tables.mechanics.{key}: {low} {least} must be below {high} {most}"));
                }
            }
        }
        out
    }
    /// Overrules one number.
    ///
    /// # Errors
    /// In words: that there is no such table, row or column and which is nearest, that it is given twice, or that the number is no such number.
    pub fn set(&mut self, table: &str, row: &str, column: &str, value: f64) -> Result<(), String> {
        let all = rows();
        let unknown = |what: &str, word: &str, list: Vec<&str>| {
            let mut known: Vec<&str> = Vec::new();
            list.into_iter().for_each(|w| {
                if !known.contains(&w) {
                    known.push(w);
                }
            });
            let near = near_word(word, &known).map_or(String::new(), |n| format!(", perhaps \"{n}\""));
            format!("there is no {what} \"{word}\"{near}; there are {}", known.join(", "))
        };
        let of_table: Vec<&Row> = all.iter().filter(|r| r.table == table).collect();
        if of_table.is_empty() {
            let open = all.iter().map(|r| r.table).collect();
            return Err(unknown("table", table, open));
        }
        let of_row: Vec<&&Row> = of_table.iter().filter(|r| r.row == row).collect();
        if of_row.is_empty() {
            return Err(unknown("row", row, of_table.iter().map(|r| r.row.as_str()).collect()));
        }
        let Some(r) = of_row.iter().find(|r| r.column == column) else {
            return Err(unknown("column", column, of_row.iter().map(|r| r.column).collect()));
        };
        if !(r.value / FAR..=r.value * FAR).contains(&value) {
            return Err(format!(
                "{value} {} is no such number: the table has {} and a tenth to ten times of it is taken",
                r.unit, r.value
            ));
        }
        if self.find(table, row, column).is_some() {
            return Err("it is given twice".to_owned());
        }
        self.list.push(Overruled {
            table: r.table,
            row: r.row.clone(),
            column: r.column,
            value,
            instead_of: r.value,
            unit: r.unit,
            source: BENCH_FILE,
        });
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_row_is_overruled() {
        let mut own = Own::default();
        let mut count = 0;
        for r in rows() {
            let done = own.set(r.table, &r.row, r.column, r.value * 1.01);
            assert!(done.is_ok(), "{r:?}: {done:?}");
            count += 1;
            assert!((own.or(r.table, &r.row, r.column, 0.0) / r.value - 1.01).abs() < 1e-9);
        }
        assert_eq!(own.list().len(), count);
        assert!(own.set("metals", "silver925", "density", 10.4).unwrap_err().contains("twice"));
    }

    #[test]
    fn what_is_not_there_is_told_with_its_neighbour() {
        let mut own = Own::default();
        for (t, r, c, x, word) in [
            ("metal", "silver925", "density", 10.4, "perhaps \"metals\""),
            ("metals", "silver92", "density", 10.4, "perhaps \"silver925\""),
            ("metals", "silver925", "densty", 10.4, "perhaps \"density\""),
            ("metals", "silver925", "density", 10_400.0, "tenth"),
            ("walls", "claws", "finished", 0.5, "perhaps \"claw\""),
        ] {
            let e = own.set(t, r, c, x).unwrap_err();
            assert!(e.contains(word), "{e}");
        }
        assert!(own.list().is_empty());
    }
}
