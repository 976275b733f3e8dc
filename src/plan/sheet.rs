//! The plan as tables and sentences: the one form that terminal, Markdown and CSV are written from, so that they cannot
//! disagree.

use super::Plan;
use super::form::{Chapter, Item};
use super::metal::Known;
use crate::parts::Route;
use crate::trade::own::digits;

fn mm(x: f64) -> String {
    format!("{x:.2} mm")
}

/// The chapters of a plan.
#[must_use]
pub fn chapters(p: &Plan) -> Vec<Chapter> {
    vec![
        findings(p),
        overruled(p),
        line(p),
        metal(p),
        stones(p),
        cost(p),
        stock(p),
        tools(p),
        solder(p),
        steps(p),
        inspection(p),
    ]
    .into_iter()
    .filter(|c| !c.items.is_empty())
    .collect()
}

fn findings(p: &Plan) -> Chapter {
    Chapter { title: "To settle first", items: p.findings.iter().cloned().map(Item::Finding).collect() }
}

fn overruled(p: &Plan) -> Chapter {
    let rows: Vec<Vec<String>> = p
        .overruled
        .iter()
        .map(|o| vec![o.place(), digits(o.instead_of), digits(o.value), o.unit.to_owned()])
        .collect();
    if rows.is_empty() {
        return Chapter { title: "", items: Vec::new() };
    }
    Chapter {
        title: "Figures of the bench file",
        items: vec![Item::Table(vec!["table, row, column", "table", "bench file", "unit"], rows)],
    }
}

fn line(p: &Plan) -> Chapter {
    let l = &p.line;
    let fact = |a: &str, b: String| Item::Fact(a.to_owned(), b);
    let s = &l.spread;
    let mut items = vec![
        if p.stones.count == l.stones {
            fact("stones", format!("{} ({} on the clasp, {} links)", l.stones, l.clasp_stones, l.links))
        } else {
            let length = format!("the bought clasp as long as {}", l.clasp_stones);
            fact("stones", format!("{} in as many links, {length}", p.stones.count))
        },
        fact("pitch", format!("{} (gap {:.2})", mm(l.pitch_mm), l.gap_mm)),
        fact("length, flat", mm(l.length_mm)),
        fact("length, inside", mm(l.inner_length_mm)),
        fact("at the joints' axes", mm(l.pivot_length_mm)),
        fact("clasp, closed", mm(l.clasp_mm)),
        fact("ease", format!("{} on a wrist of {:.0}", mm(l.ease_mm), l.wrist_mm)),
        fact("turn of a joint", format!("{:.1} deg on the wrist", l.turn_deg)),
        Item::Table(
            vec!["stones", "flat", "inside", "ease", "gap for the same length", "carat"],
            l.alternatives
                .iter()
                .map(|a| {
                    vec![
                        a.stones.to_string(),
                        format!("{:.2}", a.length_mm),
                        format!("{:.2}", a.inner_length_mm),
                        format!("{:.2}", a.ease_mm),
                        if a.gap_can_be_made {
                            format!("{:.3}", a.gap_for_length_mm)
                        } else {
                            format!("{:.3}: not made", a.gap_for_length_mm)
                        },
                        format!("{:+.2}", a.carats),
                    ]
                })
                .collect(),
        ),
        fact("length comes out", format!("+-{:.2} at worst, +-{:.2} usually", s.worst_mm, s.three_sigma_mm)),
        Item::Note(format!(
            "Pitch within {:.2}, clasp within {:.2}: measure a dozen links before you trust it. If links are only \"within\", every value alike, +-{:.2}. Pulled, the joints' play adds {:.2}; from stiff to free it grows by about {:.2}: measure the line pulled.",
            s.link_mm, s.clasp_mm, s.uniform_mm, s.play_mm, s.relaxes_mm
        )),
    ];
    if let Some(w) = &p.wish {
        for (n, gap) in w.ways.iter().take(3) {
            items.push(fact("for the length wished", format!("{n} stones, gap {gap:.3}")));
        }
    }
    Chapter { title: "Line", items }
}

fn route(r: Route) -> &'static str {
    match r {
        Route::Cast => "cast",
        Route::Fabricated => "built",
        Route::Stock => "stock",
    }
}

fn metal(p: &Plan) -> Chapter {
    let m = &p.metal;
    let rows = m
        .parts
        .iter()
        .map(|x| {
            vec![
                x.part.clone(),
                route(x.route).to_owned(),
                x.count.to_string(),
                format!("{:.3}", x.each_g),
                format!("{:.2}", x.all_g),
                format!("{:.2}", x.as_cast_g),
                match x.known {
                    Known::Solid => "the solid".into(),
                    Known::ClosedForm => "section x length".into(),
                    Known::Estimate => "estimate, within a fifth".into(),
                },
            ]
        })
        .collect();
    let mut items = vec![
        Item::Fact("alloy".into(), format!("{}, {:.2} g/cm3", m.alloy, m.density_g_cm3)),
        Item::Table(vec!["part", "route", "count", "each g", "all g", "as cast g", "from"], rows),
        Item::Fact("finished".into(), format!("{:.2} g, without stones", m.finished_g)),
        Item::Fact("filings and polish".into(), format!("{:.2} g, collected apart", m.filings_g)),
    ];
    if m.stock_g > 0.0 {
        items.push(Item::Fact("stock to buy".into(), format!("{:.2} g, spare included", m.stock_g)));
    }
    if m.to_melt_g > 0.0 {
        items.push(Item::Fact(
            "to melt".into(),
            format!("{:.2} g ({:.0} % sprues and button)", m.to_melt_g, m.sprues_and_button * 100.0),
        ));
        items.push(match m.patterns_g {
            Some(g) => Item::Fact("patterns".into(), format!("{g:.2} g, without sprues")),
            None => Item::Note(
                "Weight of the patterns: not stated. Give casting.pattern_density in the bench file.".into(),
            ),
        });
    }
    for w in &m.without {
        items.push(Item::Note(w.clone()));
    }
    let others = m.other_alloys.iter().map(|(a, g)| vec![(*a).to_owned(), format!("{g:.2}")]).collect();
    items.push(Item::Table(vec!["the same in", "finished g"], others));
    Chapter { title: "Metal", items }
}

fn stones(p: &Plan) -> Chapter {
    let s = &p.stones;
    Chapter {
        title: "Stones",
        items: vec![
            Item::Fact(
                "stones".into(),
                format!("{} round, {:.2} +-{:.2} mm", s.count, s.diameter_mm, s.tolerance_mm),
            ),
            Item::Fact("each".into(), format!("{:.4} ct ({})", s.each_carat, s.each_source)),
            Item::Fact("carats".into(), format!("{:.2} ct", s.carats)),
            Item::Fact("by formula".into(), format!("{:.2} ct", s.formula_carats)),
            Item::Fact(
                "nearest trade size".into(),
                if s.trade_size.1 < s.trade_size.2 {
                    format!("{:.1} mm, {:.3} to {:.3} ct", s.trade_size.0, s.trade_size.1, s.trade_size.2)
                } else {
                    format!("{:.1} mm, {:.3} ct", s.trade_size.0, s.trade_size.1)
                },
            ),
            Item::Fact("weight".into(), format!("{:.2} g", s.weight_g)),
            Item::Fact("with metal".into(), format!("{:.2} g", s.weight_g + p.metal.finished_g)),
            Item::Note(format!("To order: {} and {} to spare, sorted.", s.count, s.spare)),
        ],
    }
}

fn cost(p: &Plan) -> Chapter {
    let c = &p.cost;
    let priced = c.lines.iter().any(|l| l.cost.is_some());
    if !priced {
        return Chapter {
            title: "Cost",
            items: vec![Item::Note(
                "No prices: give them in a bench file (--bench), with currency and date.".into(),
            )],
        };
    }
    let rows = c
        .lines
        .iter()
        .map(|l| {
            let not = || "not stated".to_owned();
            vec![
                l.what.to_owned(),
                format!("{:.2} {}", l.amount, l.unit),
                l.price.map_or_else(not, |x| format!("{x:.2}")),
                l.cost.map_or_else(not, |x| format!("{x:.2}")),
            ]
        })
        .collect();
    let currency = c.currency.clone().unwrap_or_else(|| "currency not stated".into());
    let date = c.date.clone().unwrap_or_else(|| "date not stated".into());
    let open = match c.without_price {
        0 => String::new(),
        n => format!("; {n} without a price, so not the whole"),
    };
    Chapter {
        title: "Cost",
        items: vec![
            Item::Table(vec!["what", "amount", "price", "cost"], rows),
            Item::Fact("sum".into(), format!("{:.2} {currency}{open}", c.sum)),
            Item::Fact("prices of".into(), date),
        ],
    }
}

fn stock(p: &Plan) -> Chapter {
    let rows = p
        .stock
        .iter()
        .map(|x| {
            vec![
                x.what.clone(),
                x.section.clone(),
                x.count.to_string(),
                format!("{:.2}", x.length_mm),
                x.temper.to_owned(),
            ]
        })
        .collect::<Vec<_>>();
    let mut items = Vec::new();
    if !rows.is_empty() {
        items.push(Item::Table(vec!["piece", "section", "count", "length mm", "temper"], rows));
    }
    for c in &p.cuts {
        items.push(Item::Fact(
            c.section.clone(),
            format!("{:.0} mm with saw cuts; to buy {:.0}", c.needed_mm, c.to_buy_mm),
        ));
        for b in &c.bars {
            let pieces: Vec<String> = b.pieces.iter().map(|(w, l, n)| format!("{n} x {l:.2} {w}")).collect();
            items.push(Item::Note(format!(
                "{} bar{} of {:.0}: {}; {:.1} left",
                b.count,
                if b.count == 1 { "" } else { "s" },
                b.length_mm,
                pieces.join(", "),
                b.offcut_mm
            )));
        }
        if !c.bars.is_empty() && !c.proved_least {
            items.push(Item::Note("Another way of cutting may need less.".into()));
        }
    }
    for x in &p.stock {
        items.push(Item::Note(format!("{}: {}.", x.what, x.how)));
    }
    Chapter { title: "Stock", items }
}

fn tools(p: &Plan) -> Chapter {
    let rows = p
        .tools
        .iter()
        .map(|t| {
            let number = t.number.map_or(String::new(), |n| format!(" (no. {n})"));
            vec![
                t.cut.clone(),
                t.tool.to_owned(),
                format!("{:.2}", t.wanted_mm),
                if t.tool == "drill" {
                    format!("{:.2}{number}", t.take_mm)
                } else {
                    format!("{:.2}", t.take_mm)
                },
                t.depth_mm.map_or_else(|| "-".into(), |d| format!("{d:.2}")),
                t.times.to_string(),
            ]
        })
        .collect();
    let mut items = vec![Item::Table(vec!["cut", "tool", "wanted", "take", "depth", "times"], rows)];
    items.extend(
        p.tools.iter().filter(|t| !t.note.is_empty()).map(|t| Item::Note(format!("{}: {}.", t.cut, t.note))),
    );
    Chapter { title: "Drills and burs", items }
}

fn solder(p: &Plan) -> Chapter {
    let s = &p.solder;
    if s.heats.is_empty() {
        return Chapter { title: "Solder", items: vec![Item::Note("No solder in links and joints.".into())] };
    }
    let rows = s
        .heats
        .iter()
        .map(|h| {
            let (grade, range) = match &h.solder {
                Some(x) => (x.grade.clone(), format!("{:.0}-{:.0}", x.solidus_c, x.flow_c)),
                None => ("none is safe".into(), "-".into()),
            };
            let below = h.below_c.map_or_else(|| "-".into(), |b| format!("{b:.0}"));
            vec![h.step.to_string(), h.joins.clone(), h.joints.to_string(), grade, range, below]
        })
        .collect();
    let mut items = vec![Item::Table(vec!["heat", "joins", "joints", "solder", "melts C", "below"], rows)];
    items.extend(s.heats.iter().map(|h| Item::Note(format!("Heat {}: {}.", h.step, h.watch))));
    items.push(Item::Note(format!(
        "Each flows at least {:.0} C below the solidus of all before it. Ranges: {}. No cadmium.",
        s.step_c, s.source
    )));
    Chapter { title: "Solder", items }
}

fn steps(p: &Plan) -> Chapter {
    let mut items = Vec::new();
    for (i, s) in p.steps.iter().enumerate() {
        items.push(Item::Note(format!("{}. {}: {}", i + 1, s.step, s.how)));
        if !s.caution.is_empty() {
            items.push(Item::Finding(s.caution.to_owned()));
        }
    }
    Chapter { title: "Steps", items }
}

fn inspection(p: &Plan) -> Chapter {
    let rows = p
        .inspection
        .iter()
        .map(|i| {
            vec![
                i.what.clone(),
                format!("{:.2}", i.nominal),
                format!("{:.2}", i.least),
                if i.most > i.nominal || i.least < i.nominal && i.unit == "mm" {
                    format!("{:.2}", i.most)
                } else {
                    "-".into()
                },
                i.unit.to_owned(),
            ]
        })
        .collect();
    let mut items = vec![Item::Table(vec!["what", "nominal", "least", "most", ""], rows)];
    items.extend(p.trials.iter().map(|t| Item::Note((*t).to_owned())));
    Chapter { title: "To measure and try", items }
}
