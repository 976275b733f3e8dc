// Verdict, rules, walls, values, drawing.
(() => {
  const { $, add, dotted, mm, data } = Bench;
  const words = { pass: "pass", fail: "fail", unverified: "unverified" };
  const press = (parent, text, deed) => {
    const b = add(parent, "button");
    dotted(b, text);
    b.type = "button";
    b.addEventListener("click", deed);
  };
  // Where the values that a rule looks at stand.
  Bench.seek = (paths) => {
    const rows = paths.map((p) => document.querySelector(`#values [data-path="${CSS.escape(p)}"]`)).filter(Boolean);
    for (const e of document.querySelectorAll(".sought")) e.classList.remove("sought");
    for (const e of rows) e.classList.add("sought");
    rows[0]?.scrollIntoView({ block: "center" });
    rows[0]?.focus({ preventScroll: true });
  };
  // The thinnest place, and edges to be broken: told, not judged.
  function places(walls, r) {
    const note = (name, text, value, w) => {
      const row = add(walls, "tr"), what = add(row, "th");
      what.scope = "row";
      press(what, name, () => Bench.visit(w));
      add(what, "div", text, "why");
      add(row, "td", value, "n");
      add(row, "td");
      add(row, "td", "note");
    };
    const t = r.walls?.thinnest;
    if (t) note("thinnest place", `proved over the whole link, not thinner than ${mm(t.lower_mm)}`, mm(t.value_mm), { ...t, point: "thinnest place" });
    for (const e of r.walls?.acute_edges ?? []) note("sharp edge", `${e.between.join(" and ")}, ${e.length_mm.toFixed(2)} mm long: break it 0.05 to 0.10`, `${e.angle_deg.toFixed(0)}°`, { at: [e.at, e.at], point: `edge of ${e.angle_deg.toFixed(0)}°`, between: e.between });
  }
  function planned() {
    const open = new Set([...document.querySelectorAll("#plan details[open] summary")].map((s) => s.textContent));
    $("plan").replaceChildren();
    for (const c of data.plan) {
      const box = add($("plan"), "details");
      add(box, "summary", c.title);
      box.open = open.has(c.title);
      let list = null;
      for (const item of c.items) {
        const [[kind, what]] = Object.entries(item);
        if (kind !== "Fact") list = null;
        if (kind === "Fact") {
          list ??= add(box, "dl");
          add(list, "dt", what[0]);
          add(list, "dd", what[1]);
        } else if (kind === "Table") {
          const wide = add(box, "div", undefined, "wide");
          Object.assign(wide, { tabIndex: 0, ariaLabel: `${c.title}, a table` });
          wide.setAttribute("role", "group");
          const table = add(wide, "table"), head = add(add(table, "thead"), "tr"), rows = add(table, "tbody");
          for (const h of what[0]) add(head, h ? "th" : "td", h).scope = "col";
          for (const r of what[1]) {
            const row = add(rows, "tr");
            for (const cell of r) add(row, "td", cell);
          }
        } else add(box, "p", what, kind === "Finding" ? "fail" : undefined);
      }
    }
  }
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
        press(what, w.point, () => Bench.visit(w));
      } else what.textContent = w.point;
      add(what, "div", w.class, "why");
      add(row, "td", w.value_mm === null ? "not measured" : mm(w.value_mm), "n");
      add(row, "td", `≥ ${w.limit_mm.toFixed(2)}`, "n");
      const v = add(row, "td", words[w.verdict], w.verdict);
      if (w.why) add(v, "div", w.why, "why");
    }
    places(walls, r);
    for (const f of r.rules) {
      const row = add(rules, "tr"), what = add(row, "th");
      what.scope = "row";
      if (f.parameters?.length) press(what, f.title, () => Bench.seek(f.parameters));
      else what.textContent = f.title;
      add(what, "div", f.reason, "why");
      const unit = f.unit ? ` ${f.unit}` : "";
      const value = add(row, "td", typeof f.value === "number" ? `${Number(f.value.toFixed(3))}${unit}` : "", "n");
      if (f.range) add(value, "div", `${Number(f.range[0].toFixed(2))} to ${Number(f.range[1].toFixed(2))}`, "why");
      const from = typeof f.least === "number" ? `${Number(f.least.toFixed(3))}` : "", to = typeof f.most === "number" ? `${Number(f.most.toFixed(3))}` : "";
      add(row, "td", from && to ? `${from} to ${to}` : from ? `≥ ${from}` : to ? `≤ ${to}` : "", "n");
      const is = f.verdict.is, v = add(row, "td", words[is] + (f.severity === "note" && is !== "pass" ? " (note)" : ""), is);
      if (f.verdict.why) add(v, "div", f.verdict.why, "why");
    }
    for (const v of r.values) {
      const row = add(values, "tr");
      row.dataset.path = v.path;
      row.tabIndex = -1;
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
    const read = (text) => document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
    $("sheet").replaceChildren(...data.sheets.map(read));
  }
  // On paper nothing can be opened.
  addEventListener("beforeprint", () => {
    for (const d of document.querySelectorAll("#plan details")) d.open = true;
  });
  // Takes what is new and shows it.
  Bench.show = (fresh) => {
    Object.assign(data, fresh);
    if (fresh.report) told();
    if (fresh.shape) Bench.stage();
    if ("clasp" in fresh) {
      data.clasp ??= undefined;
      if (!fresh.shape) Bench.clasp();
    }
    if (fresh.plan) planned();
    if (fresh.sheets) drawn();
  };
  // The values as they stand cannot be built: nothing that is shown speaks of them.
  Bench.unsound = () => {
    $("verdict").textContent = "The values cannot be built; what is shown is the last link that could be.";
    $("verdict").className = "verdict fail";
  };
})();
