//! Rows of the trade's tables that the bench file overrules.

use crate::params::near_word;
use crate::trade::rows::{Row, rows};
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

/// All of them.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Own(Vec<Overruled>);

impl Own {
    /// The maker's number, or the usual one.
    #[must_use]
    pub fn or(&self, table: &str, row: &str, column: &str, usual: f64) -> f64 {
        let mine = |o: &&Overruled| o.table == table && o.row == row && o.column == column;
        self.0.iter().find(mine).map_or(usual, |o| o.value)
    }
    /// What is overruled.
    #[must_use]
    pub fn list(&self) -> &[Overruled] {
        &self.0
    }
    /// Overrules one number.
    ///
    /// # Errors
    /// In words: that there is no such table, row or column and which is nearest, that it may not be overruled, that it is given
    /// twice, or that the number is no such number.
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
            let open = all.iter().filter(|r| r.may_be_overruled).map(|r| r.table).collect();
            return Err(unknown("table", table, open));
        }
        let of_row: Vec<&&Row> = of_table.iter().filter(|r| r.row == row).collect();
        if of_row.is_empty() {
            return Err(unknown("row", row, of_table.iter().map(|r| r.row.as_str()).collect()));
        }
        let Some(r) = of_row.iter().find(|r| r.column == column) else {
            return Err(unknown("column", column, of_row.iter().map(|r| r.column).collect()));
        };
        if !r.may_be_overruled {
            return Err(format!(
                "{table} judges the rules and is not overruled here; colletline tables shows it with its sources"
            ));
        }
        if !(r.value / FAR..=r.value * FAR).contains(&value) {
            return Err(format!(
                "{value} {} is no such number: the table has {} and a tenth to ten times of it is taken",
                r.unit, r.value
            ));
        }
        if self.0.iter().any(|o| o.table == table && o.row == row && o.column == column) {
            return Err("it is given twice".to_owned());
        }
        self.0.push(Overruled {
            table: r.table,
            row: r.row.clone(),
            column: r.column,
            value,
            instead_of: r.value,
            unit: r.unit,
            source: "bench file",
        });
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_row_that_may_be_is_overruled_and_no_other() {
        let mut own = Own::default();
        let mut count = 0;
        for r in rows() {
            let done = own.set(r.table, &r.row, r.column, r.value * 1.01);
            assert_eq!(done.is_ok(), r.may_be_overruled, "{r:?}: {done:?}");
            if r.may_be_overruled {
                count += 1;
                assert!((own.or(r.table, &r.row, r.column, 0.0) / r.value - 1.01).abs() < 1e-9);
            }
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
            ("walls", "claw", "finished", 0.5, "judges"),
        ] {
            let e = own.set(t, r, c, x).unwrap_err();
            assert!(e.contains(word), "{e}");
        }
        assert!(own.list().is_empty());
    }
}
