// Verdict, rules, walls, values, drawing.
(() => {
  const { $, add, dotted, mm, data } = Bench;
  const words = { pass: "pass", fail: "fail", unverified: "unverified" };
  function told() {
    const r = data.report;
    $("design").textContent = r.design;
    document.title = r.design;
    $("verdict").textContent = { pass: "Every binding rule passes.", fail: "A binding rule fails.", unverified: "A binding rule is not verified.", pending: "The rules hold; the walls are being measured." }[r.verdict];
    $("verdict").className = `verdict ${r.verdict}`;
    const weight = r.weight ? `${r.weight.alloy}, one link ${r.weight.link_g.toFixed(3)} g. ` : "";
    $("about").textContent = `${weight}File ${data.revision}. ${r.program}.`;
    const walls = $("walls"), rules = $("rules"), values = $("values");
    walls.replaceChildren();
    rules.replaceChildren();
    values.replaceChildren();
    if (!r.walls) {
      const row = add(walls, "tr");
      Object.assign(add(row, "th", "walls"), { scope: "row" });
      Object.assign(add(row, "td", "being measured", "pending"), { colSpan: 3 });
    }
    for (const w of r.walls?.wear_points ?? []) {
      const row = add(walls, "tr"), what = add(row, "th");
      what.scope = "row";
      if (w.at) {
        const b = add(what, "button");
        dotted(b, w.point);
        b.type = "button";
        b.addEventListener("click", () => Bench.visit(w));
      } else what.textContent = w.point;
      add(what, "div", w.class, "why");
      add(row, "td", w.value_mm === null ? "not measured" : mm(w.value_mm), "n");
      add(row, "td", `≥ ${w.limit_mm.toFixed(2)}`, "n");
      const v = add(row, "td", words[w.verdict], w.verdict);
      if (w.why) add(v, "div", w.why, "why");
    }
    for (const f of r.rules) {
      const row = add(rules, "tr"), what = add(row, "th", f.title);
      what.scope = "row";
      add(what, "div", f.reason, "why");
      const unit = f.unit ? ` ${f.unit}` : "";
      add(row, "td", typeof f.value === "number" ? `${Number(f.value.toFixed(3))}${unit}` : "", "n");
      const from = typeof f.least === "number" ? `${Number(f.least.toFixed(3))}` : "", to = typeof f.most === "number" ? `${Number(f.most.toFixed(3))}` : "";
      add(row, "td", from && to ? `${from} to ${to}` : from ? `≥ ${from}` : to ? `≤ ${to}` : "", "n");
      const is = f.verdict.is, v = add(row, "td", words[is] + (f.severity === "note" && is !== "pass" ? " (note)" : ""), is);
      if (f.verdict.why) add(v, "div", f.verdict.why, "why");
    }
    for (const v of r.values) {
      const row = add(values, "tr");
      const what = add(row, "th");
      what.scope = "row";
      dotted(what, v.path);
      add(row, "td", `${v.value}${v.unit ? ` ${v.unit}` : ""}`, "n");
      const from = add(row, "td", { given: "the file", derived: "found", default: "usual" }[v.origin]);
      if (v.rule) add(from, "div", v.rule, "why");
    }
    $("cautions").replaceChildren();
    for (const c of r.cautions) add($("cautions"), "li", c);
    $("state").textContent = `State of the files: ${r.state}.`;
  }
  function drawn() {
    const drawing = new DOMParser().parseFromString(data.sheet, "image/svg+xml").documentElement;
    $("sheet").replaceChildren(document.importNode(drawing, true));
  }
  // Takes what is new and shows it.
  Bench.show = (fresh) => {
    Object.assign(data, fresh);
    if (fresh.report) told();
    if (fresh.shape) Bench.stage();
    if (fresh.sheet) drawn();
  };
  // The values as they stand cannot be built: nothing that is shown speaks of them.
  Bench.unsound = () => {
    $("verdict").textContent = "The values cannot be built; what is shown is the last link that could be.";
    $("verdict").className = "verdict fail";
  };
})();
