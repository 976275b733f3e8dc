// The page as `show` serves it: it asks whether the file changed, and has changes tried on a copy.
(() => {
  const { $, add } = Bench;
  // How often it asks while something is being built, and while nothing is, ms; how long it waits for the next key.
  const SOON = 30, LATER = 250, KEYS = 60;
  let version = 0, live = null, edits = {}, sent = 0, at = 0, timer = 0, busy = false, first = true;
  const ask = async (path, body) => {
    const answer = await fetch(path, body && { method: "POST", headers: { "Content-Type": "application/json", Colletline: "page" }, body: JSON.stringify(body) });
    return answer.json();
  };
  $("bench").hidden = false;

  function field(parent, path, spec) {
    const row = add(parent, "div", undefined, "field"), id = `f-${path}`;
    row.dataset.path = path;
    row.dataset.words = `${path} ${spec.description}`.toLowerCase();
    add(row, "label", path.split(".").pop().replaceAll("_", " ")).htmlFor = id;
    const input = add(row, spec.enum ? "select" : "input");
    if (spec.enum) for (const w of ["", ...spec.enum]) add(input, "option", w || "as found").value = w;
    else Object.assign(input, { type: "text", autocomplete: "off", spellcheck: false });
    input.id = id;
    input.setAttribute("aria-describedby", `h-${path}`);
    const range = spec.anyOf ? spec.anyOf[0] : spec;
    const limits = typeof range.minimum === "number" ? ` From ${range.minimum} to ${range.maximum}.` : "";
    add(row, "div", spec.description + limits, "help").id = `h-${path}`;
    input.addEventListener("input", () => changed(path, input.value.trim()));
  }
  function group(parent, path, spec) {
    for (const [name, p] of Object.entries(spec.properties)) {
      if (name === "$schema") continue;
      const where = path ? `${path}.${name}` : name;
      if (p.type === "object") {
        const set = add(parent, "details");
        add(set, "summary", p.description);
        group(set, where, p);
      } else field(parent, where, p);
    }
  }
  const rows = () => [...document.querySelectorAll(".field")];
  function fill() {
    const found = Object.fromEntries((Bench.data.report?.values ?? []).map((v) => [v.path, v]));
    const word = $("sieve").value.trim().toLowerCase();
    for (const row of rows()) {
      const path = row.dataset.path, input = row.querySelector("input, select");
      const text = path in edits ? edits[path] ?? "" : live.given[path] ?? "";
      if (document.activeElement !== input) input.value = text;
      const v = found[path];
      if (input.tagName === "INPUT") input.placeholder = v ? `${v.value}${v.unit ? ` ${v.unit}` : ""}` : "";
      else input.options[0].textContent = v && text === "" ? `${v.value} (usual)` : "as found";
      row.classList.toggle("changed", path in edits);
      // A parameter that takes no part in this link is not offered, unless the file gives it all the same.
      row.hidden = !(v || path in edits || path in live.given || row.querySelector(".wrong")) || !row.dataset.words.includes(word);
    }
    for (const d of document.querySelectorAll("#fields details")) {
      d.hidden = !d.querySelector(".field:not([hidden])");
      if (word || d.querySelector(".wrong")) d.open = true;
    }
    const any = Object.keys(edits).length > 0;
    $("drop").disabled = !any;
    $("save").disabled = !any || live.problems.length > 0 || busy;
  }
  function wrong(problems) {
    for (const e of document.querySelectorAll("#fields .wrong")) e.remove();
    for (const i of document.querySelectorAll("#fields [aria-invalid]")) {
      i.removeAttribute("aria-invalid");
      i.setAttribute("aria-describedby", `h-${i.id.slice(2)}`);
    }
    for (const p of problems) {
      const row = rows().find((r) => r.dataset.path === p.path);
      if (!row) continue;
      const way = [p.works && `would work: ${p.works}`, p.gives_way?.length && `or change ${p.gives_way.join(" or ")}`, p.together?.length && `change ${p.together.join(", ")} together`];
      const e = add(row, "div", [p.message, p.limit, ...way].filter(Boolean).join("; "), "wrong"), input = row.querySelector("input, select");
      e.id = `w-${p.path}`;
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-describedby", `w-${p.path} h-${p.path}`);
    }
  }
  function say(text, kind = "") {
    if ($("bench-state").textContent !== text) $("bench-state").textContent = text;
    $("bench-state").className = kind;
  }
  function told() {
    const whose = Object.keys(edits).length ? "With the changes" : "The file";
    if (live.problems.length) {
      const all = live.problems.map((p) => (p.path ? `${p.path}: ${p.message}` : p.line > 1 ? `line ${p.line}: ${p.message}` : p.message));
      say(`${whose}: cannot be built. ${all.join(". ")}. The view shows the last link that could be built.`, "fail");
      return;
    }
    const is = Bench.data.report.verdict, times = live.took.map((t) => `${t.stage} ${t.ms}`).join(", ");
    const words = { pass: "every binding rule passes", fail: "a binding rule fails", unverified: "a binding rule is not verified", pending: "the rules hold; the walls are being measured" };
    say(`${whose}: ${words[is]}.${live.pending ? "" : ` Done after ms: ${times}.`}`, is);
  }
  function take(answer) {
    if (answer.version === version) return;
    version = answer.version;
    const schema = answer.schema ?? live.schema;
    live = { ...answer, schema };
    // While a change is on its way the page knows better than the answer.
    if (sent === at && timer === 0) edits = { ...answer.edits };
    if (first) group($("fields"), "", schema);
    const fresh = { revision: answer.revision };
    for (const piece of ["report", "shape", "sheets", "plan", "clasp"]) if (piece in answer) fresh[piece] = answer[piece];
    // What is still to come shows the values before: paled until it has come.
    document.body.classList.toggle("behind", live.pending || live.problems.length > 0);
    wrong(live.problems);
    Bench.show(fresh);
    first = false;
    if (fresh.shape) Bench.unpainted();
    Bench.walls();
    if (live.problems.length) Bench.unsound();
    fill();
    told();
    // How long the maker waited, for who wants to know: performance.getEntriesByType("measure").
    if (performance.getEntriesByName("change").length) {
      const known = (stage) => live.took.some((s) => s.stage === stage);
      if (known("walls") && !performance.getEntriesByName("verdict").length) performance.measure("verdict", "change");
      performance.measure(live.problems.length ? "problem" : live.took.at(-1).stage, "change");
      if (!live.pending) {
        performance.measure("settled", "change");
        performance.clearMarks("change");
      }
    }
  }
  function changed(path, value) {
    if (value === (live.given[path] ?? "")) delete edits[path];
    else edits[path] = value === "" ? null : value;
    at += 1;
    clearTimeout(timer);
    performance.clearMarks("change");
    performance.clearMeasures();
    performance.mark("change");
    timer = setTimeout(attempt, KEYS);
  }
  async function attempt() {
    timer = 0;
    const mine = at;
    try {
      const answer = await ask(`/try?since=${version}`, { edits });
      sent = mine;
      if (mine === at) take(answer);
      again(0);
    } catch {
      gone();
    }
  }
  const gone = () => say("The program does not answer. What is shown stays.", "fail");
  $("sieve").addEventListener("input", fill);
  $("drop").addEventListener("click", () => {
    edits = {};
    at += 1;
    if (document.activeElement) document.activeElement.blur();
    attempt();
  });
  $("save").addEventListener("click", async () => {
    busy = true;
    fill();
    try {
      const answer = await ask("/save", { edits, file: live.file });
      if (!answer.saved) say(`Not saved: ${answer.message}.`, "fail");
    } catch {
      gone();
    }
    busy = false;
    await look();
    fill();
  });
  Bench.seek = (paths) => {
    $("sieve").value = "";
    fill();
    const input = paths.map((p) => $(`f-${p}`)).find((i) => i && !i.closest(".field").hidden);
    for (let d = input?.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
    input?.scrollIntoView({ block: "center" });
    input?.focus({ preventScroll: true });
  };
  Bench.exact = async (a, b, open) => {
    const m = await ask("/measure", { faces: [a, b], open });
    return m.message ? { text: m.message } : { at: m.at, text: `${m.value.toFixed(4)} mm at the least between ${m.between[0]} and ${m.between[1]}: on the exact solid, ${m.lower.toFixed(6)} to ${m.upper.toFixed(6)}` };
  };
  // The walls by colour take a second or two: only for who looks at them, when all else is there.
  let mapped = 0;
  Bench.walls = async () => {
    if (!$("show-walls").checked || live?.pending || mapped === live?.turn) return;
    mapped = live.turn;
    say("The walls are being measured for their colours.", "pending");
    try {
      const answer = await ask("/walls", {});
      if (answer.map && answer.turn === live.turn) Bench.painted(answer.map);
      told();
    } catch {
      gone();
    }
  };
  let next = 0;
  const again = (ms) => {
    clearTimeout(next);
    next = setTimeout(look, ms);
  };
  async function look() {
    try {
      const since = version, answer = await ask(`/state?since=${since}`);
      if (since === version) take(answer);
    } catch {
      gone();
    }
    again(live?.pending ? SOON : LATER);
  }
  look();
})();
