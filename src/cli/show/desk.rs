//! What is known of the file and of the changes tried on it, and how far the building has come.

use crate::cli::papers;
use crate::papers::report::{self, Report};
use crate::params::edit::{self, Edits};
use crate::params::{self, Design, Finding, Problem, RuleVerdict, Severity, Value};
use crate::parts::Part;
use crate::parts::link::Built;
use crate::plan::form::Chapter;
use crate::trade::own::Own;
use serde::Serialize;
use serde_json::{Value as Json, json};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// A piece of the page that is sent only to who has not got it.
#[derive(Clone, Default)]
pub(super) struct Piece {
    /// Version in which it came.
    pub(super) since: u64,
    /// What it holds.
    pub(super) json: Json,
}

/// What is being shown.
#[derive(Default)]
pub(super) struct Shown {
    /// Grows with everything that changes.
    pub(super) version: u64,
    /// Grows with every new file or change.
    pub(super) turn: u64,
    bytes: Vec<u8>,
    edits: Edits,
    /// The trade's tables as the maker has them.
    pub(super) own: Arc<Own>,
    began: Option<Instant>,
    problems: Vec<Problem>,
    /// The design to be built.
    pub(super) design: Option<Arc<Design>>,
    /// Whether more is to come.
    pending: bool,
    /// Milliseconds from the change to each stage that is known.
    took: Vec<(&'static str, u64)>,
    report: Piece,
    shape: Piece,
    sheets: Piece,
    plan: Piece,
    clasp: Piece,
    /// The solid that distances are measured on.
    pub(super) built: Option<Arc<Built>>,
    /// The parts of the clasp, with the design they were built from.
    pub(super) parts: Option<(Arc<Design>, Arc<Vec<Part>>)>,
    /// Revision of the text that is built.
    pub(super) revision: String,
}

/// The one place that all threads share.
pub(super) struct Desk {
    shown: Mutex<Shown>,
    new: Condvar,
}

/// What is known from the parameters alone.
#[derive(Serialize)]
struct Early<'a> {
    design: &'a str,
    program: String,
    verdict: &'static str,
    state: &'static str,
    values: Vec<Value>,
    rules: Vec<Finding>,
    cautions: Vec<&'static str>,
}

impl Desk {
    /// With the bytes of the file.
    pub(super) fn new(bytes: Vec<u8>, own: Arc<Own>) -> Self {
        let shown = Shown { own, ..Shown::default() };
        let desk = Self { shown: Mutex::new(shown), new: Condvar::new() };
        desk.file(bytes);
        desk
    }

    pub(super) fn lock(&self) -> MutexGuard<'_, Shown> {
        // Every change to it is complete before a step that could fail.
        self.shown.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes the file as it is now; the changes stay and are tried on it.
    pub(super) fn file(&self, bytes: Vec<u8>) {
        let mut s = self.lock();
        if s.bytes != bytes || s.version == 0 {
            s.bytes = bytes;
            s.start();
            self.new.notify_all();
        }
    }

    /// Takes changes; what the rules say of them is known at once.
    pub(super) fn change(&self, edits: Edits) {
        let mut s = self.lock();
        s.edits = edits;
        s.start();
        self.new.notify_all();
    }

    /// The changes now stand in the file, which holds these bytes.
    pub(super) fn saved(&self, bytes: Vec<u8>) {
        let mut s = self.lock();
        s.bytes = bytes;
        s.edits.clear();
        s.start();
        self.new.notify_all();
    }

    /// Waits for a turn other than this one that has something to build.
    pub(super) fn next(&self, done: u64) -> (u64, Arc<Design>, String) {
        let mut s = self.lock();
        loop {
            if s.turn != done
                && let Some(d) = &s.design
            {
                return (s.turn, Arc::clone(d), s.revision.clone());
            }
            s = self.new.wait(s).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Whether no newer change has come.
    pub(super) fn stands(&self, turn: u64) -> bool {
        self.lock().turn == turn
    }

    /// Puts something down, unless the turn is over; says whether it is not.
    pub(super) fn put(&self, turn: u64, what: impl FnOnce(&mut Shown)) -> bool {
        let mut s = self.lock();
        if s.turn != turn {
            return false;
        }
        s.version += 1;
        what(&mut s);
        true
    }
}

impl Shown {
    /// Reads the file with its changes and judges the rules; the rest is pending.
    fn start(&mut self) {
        self.version += 1;
        self.turn += 1;
        self.began = Some(Instant::now());
        self.took.clear();
        self.problems.clear();
        self.design = None;
        let read = match std::str::from_utf8(&self.bytes) {
            Ok(text) if !self.edits.is_empty() => match edit::edited(text, &self.edits) {
                Ok(new) => {
                    self.revision = papers::revision(new.as_bytes());
                    params::read_with(&new, &[], &self.own)
                }
                Err(e) => Err(vec![Problem::new("text.syntax", "", params::Span::default(), e)]),
            },
            // Also tells of bytes that are no text.
            _ => {
                self.revision = papers::revision(&self.bytes);
                params::read_bytes(&self.bytes, &self.own)
            }
        };
        match read {
            Ok(design) => {
                let rules = design.findings();
                let fails =
                    rules.iter().any(|f| f.severity == Severity::Refuse && f.verdict == RuleVerdict::Fail);
                let early = Early {
                    design: design.name(),
                    program: report::program(),
                    verdict: if fails { "fail" } else { "pending" },
                    state: report::NOT_A_MASTER,
                    values: design.values(),
                    rules,
                    cautions: report::cautions(&design),
                };
                self.report = Piece { since: self.version, json: json!(early) };
                self.design = Some(Arc::new(design));
                self.pending = true;
                self.took("rules");
            }
            Err(problems) => {
                self.problems = problems;
                self.pending = false;
            }
        }
    }

    fn took(&mut self, stage: &'static str) {
        if let Some(t) = self.began {
            self.took.push((stage, u64::try_from(t.elapsed().as_millis()).unwrap_or(u64::MAX)));
        }
    }

    /// The solid and its mesh are there.
    pub(super) fn solid(&mut self, built: Arc<Built>, shape: Json) {
        self.built = Some(built);
        self.parts = None;
        self.shape = Piece { since: self.version, json: shape };
        self.took("solid");
    }

    /// Every wall is measured.
    pub(super) fn walls(&mut self, report: &Report) {
        self.report = Piece { since: self.version, json: json!(report) };
        self.took("walls");
    }

    /// The sheet of the link is drawn.
    pub(super) fn paper(&mut self, svg: &str) {
        self.sheets = Piece { since: self.version, json: json!([svg]) };
        self.took("paper");
    }

    /// The clasp is built.
    pub(super) fn clasp(&mut self, clasp: Option<Json>, parts: Option<(Arc<Design>, Arc<Vec<Part>>)>) {
        self.parts = parts;
        self.clasp = Piece { since: self.version, json: clasp.unwrap_or_default() };
        self.took("clasp");
    }

    /// The job is planned and every sheet drawn, the last of all.
    pub(super) fn job(&mut self, svg: &[String], plan: &[Chapter]) {
        self.sheets = Piece { since: self.version, json: json!(svg) };
        self.plan = Piece { since: self.version, json: json!(plan) };
        self.took("job");
        self.pending = false;
    }

    /// It cannot be built.
    pub(super) fn refuse(&mut self, why: String) {
        self.problems = vec![Problem::new("build", "", params::Span::default(), why)];
        self.pending = false;
    }

    /// What a page that has version `since` is told.
    pub(super) fn told(&self, since: u64) -> Json {
        if since == self.version {
            return json!({ "version": since });
        }
        let mut out = json!({
            "version": self.version,
            "turn": self.turn,
            "pending": self.pending,
            "problems": self.problems,
            "edits": self.edits,
            "given": edit::written(&String::from_utf8_lossy(&self.bytes)),
            "file": papers::revision(&self.bytes),
            "revision": self.revision,
            "took": self.took.iter().map(|(s, ms)| json!({ "stage": s, "ms": ms })).collect::<Vec<_>>(),
        });
        let pieces = [
            ("report", &self.report),
            ("shape", &self.shape),
            ("sheets", &self.sheets),
            ("plan", &self.plan),
            ("clasp", &self.clasp),
        ];
        for (name, piece) in pieces {
            if piece.since > since {
                out[name] = piece.json.clone();
            }
        }
        out
    }
}
