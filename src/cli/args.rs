//! The words a person types. No judgement and no files here.

use super::typed::{
    copies, date, least_wall, length, pixels, plate_size, spacing, thin_places, tolerance, weighed,
};
use crate::plan::compare::Vary;
use crate::units::Tolerance;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Exact, checked parts of a collet-set line bracelet from one parameter file.
#[derive(Debug, Parser)]
#[command(name = "colletline", version, about, max_term_width = 100, arg_required_else_help = true)]
#[command(after_help = "Exit codes: 0 every binding rule passes; 1 one fails or is unverified; \
2 the file is wrong or cannot be built; 3 a file could not be read or written.")]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
    /// When to colour what is printed.
    #[arg(long, value_enum, default_value_t, global = true)]
    pub color: Color,
    /// Print problems and failed checks only.
    #[arg(long, short, global = true)]
    pub quiet: bool,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Build, check and write the parts of a parameter file.
    #[command(after_help = "Example:\n  colletline make params/line-4.0-platinum.jsonc")]
    Make(Make),
    /// Build and check, write nothing; or examine a mesh (.stl, .3mf) and measure its walls.
    #[command(
        after_help = "Examples:\n  colletline check params/line-2.5-yellow.jsonc --format json\n  colletline check part.stl --min-wall 0.4"
    )]
    Check(Check),
    /// Show the page in a browser on this machine, rebuilt as the file changes; try changes before they are saved.
    #[command(after_help = "Example:\n  colletline show my-line.jsonc")]
    Show(Show),
    /// Turn the joint until it touches: how far it bends, swings and twists, and what meets.
    #[command(after_help = "Example:\n  colletline motion params/line-4.0-platinum.jsonc")]
    Motion(Motion),
    /// Write the masters for casting, and what goes with them to printer and caster.
    #[command(after_help = "Example:\n  colletline masters params/line-4.0-platinum.jsonc")]
    Masters(Masters),
    /// Plan the job: line, metal, stones, stock, tools, solder, steps, cost.
    #[command(
        after_help = "Examples:\n  colletline plan params/line-4.0-platinum.jsonc\n  colletline plan my-line.jsonc --bench my-bench.jsonc --format markdown > plan.md\n  colletline plan my-line.jsonc --measured links.csv"
    )]
    Plan(Plan),
    /// Lay the masters of an order out on build plates.
    #[command(
        after_help = "Example:\n  colletline plate params/line-4.0-platinum.jsonc --size 120x68 --tag A-17"
    )]
    Plate(Plate),
    /// Write the whole bracelet as one STEP file, every part in its place.
    #[command(after_help = "Example:\n  colletline assembly params/line-4.0-platinum.jsonc --pose wrist")]
    Assembly(Assembly),
    /// Write bench jigs for this link: stop block, drill guide, former, pitch jig.
    #[command(after_help = "Example:\n  colletline jigs params/line-4.0-platinum.jsonc --jig bores,key")]
    Jigs(JigArgs),
    /// Write the gauge that a printer is measured with.
    #[command(after_help = "Example:\n  colletline coupon --out gauge")]
    Coupon(Coupon),
    /// From caliper readings of the gauge to values for the parameter file.
    #[command(after_help = "Example:\n  colletline calibrate gauge/readings.csv")]
    Calibrate(Calibrate),
    /// Vary one or two parameters: what each value does to metal, walls, turn, life and cost.
    #[command(
        after_help = "Example:\n  colletline compare params/line-4.0-platinum.jsonc --vary collet.wall=0.40..0.60:0.05 --plot wall.svg"
    )]
    Compare(Compare),
    /// Estimate wear and strength of the line.
    #[command(after_help = "Example:\n  colletline life params/line-4.0-platinum.jsonc")]
    Life(LifeArgs),
    /// Print the service passport; with two pulled lengths, how much has worn and when to rehinge.
    #[command(
        after_help = "Example:\n  colletline passport params/line-4.0-platinum.jsonc --delivered 176.4 --now 177.2"
    )]
    Passport(PassportArgs),
    /// Find the cheapest changes after which every rule holds.
    #[command(
        after_help = "Examples:\n  colletline mend my-line.jsonc\n  colletline mend my-line.jsonc --move joint,opening.stop --write mended.jsonc\n  colletline mend my-line.jsonc --free stone.diameter"
    )]
    Mend(MendArgs),
    /// Print the tables of the trade, every number with its source, and what a bench file overrules.
    #[command(
        after_help = "Examples:\n  colletline tables\n  colletline tables solders --bench my-bench.jsonc"
    )]
    Tables(Tables),
    /// Write a commented parameter file to start from.
    #[command(after_help = "Example:\n  colletline new my-line.jsonc")]
    New(New),
    /// Print the JSON Schema of the parameter file, for editors.
    #[command(after_help = "Example:\n  colletline schema > params/part.schema.json")]
    Schema,
}

/// Arguments of `make`.
#[derive(Debug, Args)]
pub struct Make {
    /// What to build from and how.
    #[command(flatten)]
    pub common: Common,
    /// Folder that receives the files. Without it: a folder under out/ named after the file.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Limit what is made to these, separated by commas. The report is always written.
    #[arg(long, value_enum, value_delimiter = ',', value_name = "WHAT")]
    pub only: Vec<Product>,
    /// Write the parts although a binding rule is not met; the report says so.
    #[arg(long)]
    pub anyway: bool,
    /// Tell this many of the thinnest places, each in full.
    #[arg(long, value_name = "N", value_parser = thin_places)]
    pub thinnest: Option<usize>,
    /// Paper of the bench sheet, landscape.
    #[arg(long, value_enum, default_value_t, value_name = "SIZE")]
    pub paper: PaperSize,
    /// Width of the pictures, pixels; without it each has its own.
    #[arg(long, value_name = "PIXELS", value_parser = pixels)]
    pub pixels: Option<usize>,
    /// Date in the title block of the bench sheet, such as 2026-03-14. Without it a place to write it in.
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub date: Option<String>,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// What to build from and how.
    #[command(flatten)]
    pub common: Common,
    /// For a mesh: least wall, mm. Without it the thinnest place is told and not judged.
    #[arg(long, value_name = "MM", value_parser = least_wall)]
    pub min_wall: Option<f64>,
    /// Tell this many of the thinnest places, each in full. Of a mesh none over four times the thinnest, unless --min-wall reaches it.
    #[arg(long, value_name = "N", value_parser = thin_places)]
    pub thinnest: Option<usize>,
    /// Also measure the room between parts that turn in each other, and the walls of the clasp's plate, leaf and frame as far as
    /// --part asks for them. Takes some seconds more.
    #[arg(long)]
    pub whole: bool,
}

/// Arguments of `plate`.
#[derive(Debug, Args)]
pub struct Plate {
    /// What to build from and how.
    #[command(flatten)]
    pub common: Common,
    /// Length x width of the plate, mm.
    #[arg(long, value_name = "LxW", value_parser = plate_size)]
    pub size: [f64; 2],
    /// Least room between two parts, mm.
    #[arg(long, value_name = "MM", default_value = "1.5", value_parser = spacing)]
    pub spacing: f64,
    /// Text on a small tag printed with every plate: letters A to Z, digits, space, - and .
    #[arg(long, value_name = "TEXT")]
    pub tag: Option<String>,
    /// How many links, and nothing else; without it all castings of the bracelet.
    #[arg(long, value_name = "N", value_parser = copies)]
    pub count: Option<usize>,
    /// Folder that receives the files. Without it: the folder plates beside the parts of the design.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// How the bracelet lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Lie {
    /// The line straight, beside the shut clasp.
    #[default]
    Straight,
    /// Round the wrist, the clasp shut.
    Wrist,
    /// The line straight, the leaf of the clasp 60 degrees open.
    Open,
}

/// Arguments of `assembly`.
#[derive(Debug, Args)]
pub struct Assembly {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// How the bracelet lies.
    #[arg(long, value_enum, default_value_t)]
    pub pose: Lie,
    /// Folder that receives the files. Without it: the folder assembly beside the parts of the design.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `jigs`.
#[derive(Debug, Args)]
pub struct JigArgs {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`. The guide is made
    /// for a drill that it names.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Only these, separated by commas; without it all that serve this design.
    #[arg(long, value_enum, value_delimiter = ',', value_name = "JIG")]
    pub jig: Vec<JigKind>,
    /// Greatest distance of the meshes from the exact solid, mm.
    #[arg(long, value_name = "MM", default_value = "0.005", value_parser = tolerance)]
    pub tolerance: Tolerance,
    /// Folder that receives the files. Without it: the folder jigs beside the parts of the design.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// A bench jig.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum JigKind {
    /// Stop block: holds the link while its openings are cut, to their depth.
    Openings,
    /// Key: goes through a window into an opening and keeps the link square.
    Key,
    /// Drill guide for the bores of the joint.
    Bores,
    /// Former for the connecting wire of a wire loop.
    Wire,
    /// Pitch jig for five links.
    Pitch,
}

/// Arguments of `coupon`.
#[derive(Debug, Args)]
pub struct Coupon {
    /// Folder that receives the files. Without it: out/coupon.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// Arguments of `calibrate`.
#[derive(Debug, Args)]
pub struct Calibrate {
    /// Readings: lines of axis (x, y, z or hole), size in the file, size measured, mm.
    #[arg(value_name = "READINGS")]
    pub file: PathBuf,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `masters`.
#[derive(Debug, Args)]
pub struct Masters {
    /// What to build from and how.
    #[command(flatten)]
    pub common: Common,
    /// Folder that receives the files. Without it: the folder masters beside the parts of the design.
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// What `make` and `check` share.
#[derive(Debug, Args)]
pub struct Common {
    /// Parameter file: JSON, comments and trailing commas allowed. For `check` also a mesh: .stl or .3mf.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Parts to build, separated by commas. The link is judged in every case. Without it `make` writes the link and every other
    /// part that is cast, `masters` and `plate` all that is cast, and `check` builds all.
    #[arg(long, value_enum, value_delimiter = ',')]
    pub part: Vec<Part>,
    /// Greatest distance of the meshes from the exact solid, mm.
    #[arg(long, value_name = "MM", default_value = "0.005", value_parser = tolerance)]
    pub tolerance: Tolerance,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

impl Common {
    /// Whether the link's own files are asked for.
    #[must_use]
    pub fn link(&self) -> bool {
        self.part.is_empty() || self.part.contains(&Part::Link)
    }
    /// Whether a casting is asked for; all are where nothing is said.
    #[must_use]
    pub fn casts(&self, part: &str) -> bool {
        self.part.is_empty()
            || self.part.iter().any(|p| match p {
                Part::Link => part == "link",
                Part::Clasp | Part::Frame => part == "clasp.frame",
                _ => false,
            })
    }
}

/// Arguments of `show`.
#[derive(Debug, Args)]
pub struct Show {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Port on this machine; 0 takes a free one.
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    pub port: u16,
}

/// Arguments of `motion`.
#[derive(Debug, Args)]
pub struct Motion {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Folder that receives pictures of the joint cut open: at rest and where each movement ends.
    #[arg(long, value_name = "FOLDER")]
    pub pictures: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct Plan {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays: prices, stock, drills, solders, alloy, and numbers of one's own in place of the trade's tables
    /// (JSON with comments; see params/bench/bench.jsonc).
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// A finished flat length wished for, mm: which counts and gaps give it.
    #[arg(long, value_name = "MM", value_parser = length)]
    pub length: Option<f64>,
    /// Links and stones as measured (CSV with columns link, pitch, stone, one row for each, the clasp's last): which link and
    /// which stone goes where for even gaps, what length comes out, what the clasp takes up.
    #[arg(long, value_name = "FILE", conflicts_with = "length")]
    pub measured: Option<PathBuf>,
    /// Weigh the clasp by estimate, without building its solids: quicker.
    #[arg(long)]
    pub estimate: bool,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: PlanForm,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// A parameter and its values: path=from..to:step, or path=a,b,c. Once or twice.
    #[arg(long, required = true, value_name = "PATH=VALUES", value_parser = Vary::read)]
    pub vary: Vec<Vary>,
    /// What the maker pays, for the cost column, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Weigh every clasp by its solids, not by estimate: some seconds for each design.
    #[arg(long)]
    pub exact: bool,
    /// Also draw it: an SVG file that must not exist yet.
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: PlanForm,
}

/// Arguments of `tables`.
#[derive(Debug, Args)]
pub struct Tables {
    /// Only this table, such as metals, solders or hallmark.
    #[arg(value_name = "TABLE")]
    pub table: Option<String>,
    /// Bench file: the numbers that it overrules are shown in their places.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// How the tables are printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: PlanForm,
}

/// How a plan is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum PlanForm {
    /// For people at a terminal.
    #[default]
    Text,
    /// For paper.
    Markdown,
    /// For spreadsheets.
    Csv,
    /// For programs.
    Json,
}

/// Arguments of `life`.
#[derive(Debug, Args)]
pub struct LifeArgs {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `passport`.
#[derive(Debug, Args)]
pub struct PassportArgs {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What the maker has and pays, and numbers of one's own in place of the trade's tables; see `plan --help`.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Pulled length at delivery, mm.
    #[arg(long, value_name = "MM", value_parser = length, requires = "now")]
    pub delivered: Option<f64>,
    /// Pulled length now, mm.
    #[arg(long, value_name = "MM", value_parser = length, requires = "delivered")]
    pub now: Option<f64>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `mend`.
#[derive(Debug, Args)]
pub struct MendArgs {
    /// Parameter file: JSON, comments and trailing commas allowed.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Locked parameters or groups that may move all the same: stone, wearer, tolerance, trial, wear.
    #[arg(long, value_delimiter = ',', value_name = "PATH")]
    pub free: Vec<String>,
    /// Only these parameters or groups may move.
    #[arg(long = "move", value_delimiter = ',', value_name = "PATH")]
    pub moving: Vec<String>,
    /// Bench file: wires, tubes, drills and burs it names are the sizes that what is made of them moves between; numbers of one's
    /// own in place of the trade's tables.
    #[arg(long, value_name = "FILE")]
    pub bench: Option<PathBuf>,
    /// Weight of a bench step of a parameter or group, 0.1 to 100; may be given again. Without: 1 for a cut, 2 for the collet's
    /// body and for stock of another size, 3 for another bur, 4 for width and gap, 5 for a stone more or less.
    #[arg(long = "weight", value_name = "PATH=WEIGHT", value_parser = weighed)]
    pub weights: Vec<(String, f64)>,
    /// File to write with the cheapest way that passes every check, comments kept; it must not exist.
    #[arg(long, value_name = "NEW")]
    pub write: Option<PathBuf>,
    /// How the result is printed.
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// File to write; it must not exist. Without it the text is printed.
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
}

/// A part of the bracelet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Part {
    /// One link.
    Link,
    /// Every part of the folding clasp, with pictures of it shut and opening.
    Clasp,
    /// The clasp's base plate.
    Plate,
    /// The clasp's fall-away leaf.
    Leaf,
    /// The clasp's frame with its collets; takes some seconds.
    Frame,
    /// The strips of the clasp's tongue and their rivets.
    Tongue,
    /// The pins of the clasp's hinges.
    Pins,
    /// The side catches.
    Catches,
    /// The link and the jump ring of the safety chain.
    Chain,
}

/// What `make` can make of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Product {
    /// link.finished.stl and link.trial.stl.
    Stl,
    /// link.step.
    Step,
    /// The thinnest places of the link beside its named wear points, and link.walls.png: how thick the metal is.
    Walls,
    /// link.png.
    Picture,
    /// line.png, joint.png, line.shut.png, line.half.png, line.open.png, catches.png: the line on a wrist, a joint pulled apart, the
    /// clasp shut, half open and open, its small parts. Made only when asked for: it takes half a minute.
    Pictures,
    /// sheets.pdf: the bench sheets of link and clasp and the plan's tables; each as .svg, too.
    Sheet,
    /// page.html: the link in three dimensions with its verdict, values and sheet, for any browser, without a network.
    Page,
    /// How joint and clasp move, in report.json; takes some seconds and is made only when it is named.
    Motion,
}

/// Paper of the bench sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 297 x 210 mm.
    #[default]
    A4,
    /// 11 x 8.5 in.
    Letter,
}

/// How a result is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    #[default]
    Text,
    /// For programs: the report, or the problems.
    Json,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless `NO_COLOR` is set.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}
