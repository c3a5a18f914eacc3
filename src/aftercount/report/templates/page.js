"use strict";
// The page's own script: filters, sorting, zoom, traffic, settling, notes. It builds elements and sets their text; it
// never makes markup out of strings, so nothing a log says can become part of the page.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const $ = (selector, root = document) => root.querySelector(selector);
  const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];
  const make = (name, attributes = {}, ...children) => {
    const element = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    element.append(...children);
    return element;
  };
  const words = (text, name = "span") => make(name, { dir: "auto" }, text);

  // What is typed or chosen is kept in this browser, under this count; a page opened where that is refused still works.
  const place = `aftercount ${data.count} ${data.t0}`;
  const keep = (name, value) => { try { localStorage.setItem(`${place} ${name}`, JSON.stringify(value)); } catch { /* not kept */ } };
  const kept = (name) => { try { return JSON.parse(localStorage.getItem(`${place} ${name}`)); } catch { return null; } };
  const save = (name, type, text) => {
    const link = make("a", { download: name, href: URL.createObjectURL(new Blob([text], { type })) });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };

  // --- light and dark, print ---
  const root = document.documentElement;
  const isDark = () => (root.dataset.theme || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark";
  const theme = $("#theme");
  const named = () => { theme.textContent = isDark() ? "light" : "dark"; };
  theme.addEventListener("click", () => { root.dataset.theme = isDark() ? "light" : "dark"; named(); });
  named();
  $("#print").addEventListener("click", () => print());

  // --- traffic around a finding ---
  for (const details of $$("details[data-around]")) {
    details.addEventListener("toggle", () => {
      if (!details.open || details.dataset.filled) return;
      details.dataset.filled = "yes";
      const [first, last, focus] = data.windows[details.dataset.around];
      const body = make("tbody");
      for (let i = first; i <= last; i += 1) {
        const [source, line, time, count, who, text] = data.lines[i];
        const row = make("tr", i === focus ? { class: "focus" } : {});
        row.append(make("td", { class: "t" }, time), make("td", { class: "t" }, count), make("td", {}, make("bdi", {}, who)),
          words(text, "td"), make("td", {}, make("cite", {}, `${data.sources[source]}:${line}`)));
        body.append(row);
      }
      const head = make("tr");
      for (const name of ["UTC", "count", "who", "said", "where"]) head.append(make("th", { scope: "col" }, name));
      const table = make("table", {}, make("caption", { class: "unseen" }, "Traffic"), make("thead", {}, head), body);
      $("p", details).replaceWith(make("div", { class: "wide", role: "region", tabindex: "0", "aria-label": `Traffic, ${details.dataset.around}` }, table));
    });
  }

  // --- the table of steps: filter and sort ---
  const stepBody = $("#step-table tbody");
  const stepRows = $$("tr", stepBody);
  const field = { by: $("#f-by"), phase: $("#f-phase"), status: $("#f-status"), words: $("#f-words") };
  const filter = () => {
    const sought = field.words.value.trim().toLowerCase();
    let shown = 0;
    for (const row of stepRows) {
      const d = row.dataset;
      const fits = (!field.by.value || d.by === field.by.value) && (!field.phase.value || d.phase === field.phase.value)
        && (!field.status.value || d.sign === field.status.value || d.flags.split(" ").includes(field.status.value))
        && (!sought || row.textContent.toLowerCase().includes(sought));
      row.hidden = !fits;
      shown += fits;
    }
    $("#f-count").textContent = `${shown} of ${stepRows.length}`;
  };
  $("#filters").addEventListener("input", filter);
  $("#filters").addEventListener("submit", (event) => event.preventDefault());
  $("#filters").addEventListener("reset", () => setTimeout(filter));
  for (const link of $$("a[data-show]")) {
    link.addEventListener("click", () => { $("#filters").reset(); field.status.value = link.dataset.show; filter(); });
  }
  const collator = new Intl.Collator("en", { numeric: true });
  const key = (row, column) => { const cell = row.cells[column]; return cell.dataset.k ?? cell.textContent.trim(); };
  $$("#step-table thead th[data-sort]").forEach((head, column) => {
    $("button", head).addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of $$("#step-table th[aria-sort]")) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const numbers = head.classList.contains("n") || head.dataset.sort === "response";
      const sign = down ? -1 : 1;
      const sorted = [...stepRows].sort((a, b) => {
        const [x, y] = [key(a, column), key(b, column)];
        if ((x === "") !== (y === "")) return x === "" ? 1 : -1; // what has no value goes last either way
        return sign * (numbers ? x - y : collator.compare(x, y)) || a.dataset.row - b.dataset.row;
      });
      stepBody.append(...sorted);
    });
  });
  const reveal = (row) => { if (row.hidden) { $("#filters").reset(); field.status.value = ""; for (const f of Object.values(field)) f.value = ""; filter(); } };

  // --- chart and table, linked ---
  const markOf = new Map($$("#deviation-chart a.mark").map((mark) => [mark.dataset.row, mark]));
  const light = (row, on) => {
    markOf.get(row)?.classList.toggle("lit", on);
    $(`#step-${row}`)?.classList.toggle("lit", on);
    if (on) $("#deviation-chart .told").textContent = markOf.get(row)?.getAttribute("aria-label") ?? "";
  };
  for (const [row, mark] of markOf) {
    for (const name of ["pointerenter", "focus"]) mark.addEventListener(name, () => light(row, true));
    for (const name of ["pointerleave", "blur"]) mark.addEventListener(name, () => light(row, false));
    mark.addEventListener("click", () => reveal($(`#step-${row}`)));
  }
  for (const row of stepRows) {
    row.addEventListener("pointerenter", () => light(row.dataset.row, true));
    row.addEventListener("pointerleave", () => light(row.dataset.row, false));
    row.addEventListener("focusin", () => light(row.dataset.row, true));
    row.addEventListener("focusout", () => light(row.dataset.row, false));
  }
  const followed = () => { const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1))); if (target) { if (target.matches("tr")) reveal(target); const note = $(":scope > .note", target); if (note) note.open = true; target.focus?.({ preventScroll: true }); } };
  addEventListener("hashchange", followed);

  // --- zoom: a chart shows the part from..to of its width; everything with a place is moved ---
  const NEAREST = 1 / 200;
  const zoomed = (figure) => {
    const svg = $(":scope > svg", figure);
    const [LEFT, SPAN] = ["x", "width"].map((name) => Number($(".panel", svg).getAttribute(name)));
    const profile = figure.dataset.kind === "profile";
    const TOP = 22, HEIGHT = 330;
    const all = { x0: 0, x1: 1, y0: 0, y1: 1 };
    let view = { ...all };
    const lines = profile ? $$(".path", svg).map((p) => p.getAttribute("points").trim().split(/\s+/).map((q) => q.split(",").map(Number))) : [];
    const upright = (x0, x1) => { // the heights the count passes between x0 and x1, with some air
      const heights = [];
      for (const leg of lines) {
        for (let i = 1; i < leg.length; i += 1) {
          const [[ax, ay], [bx, by]] = [leg[i - 1], leg[i]];
          if (bx < x0 || ax > x1) continue;
          for (const x of [Math.max(ax, x0), Math.min(bx, x1)]) heights.push(bx > ax ? ay + ((by - ay) * (x - ax)) / (bx - ax) : ay);
        }
      }
      if (!heights.length) return [0, 1];
      const [low, high] = [Math.min(...heights), Math.max(...heights)];
      const air = Math.max((high - low) * 0.15, 0.004);
      return [Math.max(low - air, 0), Math.min(high + air, 1)];
    };
    const px = (x) => LEFT + ((x - view.x0) / (view.x1 - view.x0)) * SPAN;
    const py = (y) => TOP + HEIGHT - ((y - view.y0) / (view.y1 - view.y0)) * HEIGHT;
    const ticks = (group, attribute, position, room) => {
      const taken = [];
      const zoom = attribute === "x" ? 1 / (view.x1 - view.x0) : 1 / (view.y1 - view.y0);
      const sorted = $$(".tick", group).filter((t) => t.dataset[attribute] !== undefined).sort((a, b) => a.dataset.level - b.dataset.level);
      for (const tick of sorted) {
        const at = position(Number(tick.dataset[attribute]));
        const inside = attribute === "x" ? at >= LEFT - 1 && at <= LEFT + SPAN + 1 : at >= TOP - 1 && at <= TOP + HEIGHT + 1;
        const fits = inside && tick.dataset.level <= zoom * 1.5 && taken.every((other) => Math.abs(other - at) > room);
        if (fits) { taken.push(at); tick.removeAttribute("display"); } else tick.setAttribute("display", "none");
        const still = tick.transform.baseVal.getItem(0).matrix;
        tick.setAttribute("transform", attribute === "x" ? `translate(${at} ${still.f})` : `translate(${still.e} ${at})`);
      }
    };
    const draw = () => {
      for (const rect of $$("[data-x0]", svg)) {
        const [a, b] = [px(Number(rect.dataset.x0)), px(Number(rect.dataset.x1))];
        rect.setAttribute("x", a);
        rect.setAttribute("width", Math.max(b - a, 1));
      }
      for (const item of $$("[data-x]:not(.tick)", svg)) {
        const x = px(Number(item.dataset.x));
        const y = item.dataset.ypx ?? (item.dataset.y !== undefined ? py(Number(item.dataset.y)) : 0);
        item.setAttribute("transform", `translate(${x} ${y})`);
        const out = x < LEFT - 1 || x > LEFT + SPAN + 1;
        if (["holdlabel", "mark", "note", "pass"].some((name) => item.classList.contains(name))) item.toggleAttribute("hidden", out);
      }
      const world = $(".world", svg);
      if (world) {
        const [sx, sy] = [SPAN / (view.x1 - view.x0), HEIGHT / (view.y1 - view.y0)];
        world.setAttribute("transform", `translate(${LEFT - view.x0 * sx} ${TOP + HEIGHT + view.y0 * sy}) scale(${sx} ${-sy})`);
        ticks($(".ticks.up", svg), "y", py, 20);
      }
      ticks($(".ticks.across", svg), "x", px, 52);
    };
    const show = (x0, x1) => {
      const width = Math.min(Math.max(x1 - x0, NEAREST), 1);
      const from = Math.min(Math.max((x0 + x1 - width) / 2, 0), 1 - width);
      const [y0, y1] = profile && width < 1 ? upright(from, from + width) : [0, 1];
      view = { x0: from, x1: from + width, y0, y1 };
      draw();
    };
    const marks = $$("a.mark", svg).sort((a, b) => a.dataset.x - b.dataset.x);
    const by = { // what each control does to the part shown
      in: () => { // about the sign in hand, if there is one, so that it is not lost from view
        const q = (view.x1 - view.x0) / 4;
        const x = marks.includes(document.activeElement) ? Number(document.activeElement.dataset.x) : (view.x0 + view.x1) / 2;
        show(x - q, x + q);
      },
      out: () => { const w = view.x1 - view.x0; show(view.x0 - w / 2, view.x1 + w / 2); },
      left: () => { const q = (view.x1 - view.x0) / 4; const s = Math.min(q, view.x0); show(view.x0 - s, view.x1 - s); },
      right: () => { const q = (view.x1 - view.x0) / 4; const s = Math.min(q, 1 - view.x1); show(view.x0 + s, view.x1 + s); },
      end: () => show(0.9, 1),
      all: () => { view = { ...all }; draw(); },
    };
    for (const button of $$("[data-zoom]", figure)) button.addEventListener("click", () => by[button.dataset.zoom]());
    const step = (way) => { // to the next sign, bringing it into view
      const now = marks.indexOf(document.activeElement);
      const next = marks[now < 0 ? (way > 0 ? 0 : marks.length - 1) : Math.min(Math.max(now + way, 0), marks.length - 1)];
      const x = Number(next?.dataset.x);
      if (!next) return;
      const half = (view.x1 - view.x0) / 2;
      if (x < view.x0 || x > view.x1) show(x - half, x + half);
      next.focus();
    };
    svg.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      const does = { "+": "in", "=": "in", "-": "out", "0": "all" }[event.key] ?? (event.shiftKey && way ? (way > 0 ? "right" : "left") : null);
      if (does) {
        by[does]();
        if (document.activeElement.hasAttribute?.("hidden")) svg.focus();
      } else if (way && marks.length) step(way);
      else if (event.key === "Escape" && document.activeElement !== svg) svg.focus();
      else return;
      event.preventDefault();
    });
    const placeOf = (event) => {
      const box = svg.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * 1000;
      return view.x0 + (Math.min(Math.max((x - LEFT) / SPAN, 0), 1)) * (view.x1 - view.x0);
    };
    let from = null, drag = null, dragged = false;
    svg.addEventListener("dragstart", (event) => event.preventDefault());
    svg.addEventListener("pointerdown", (event) => {
      dragged = false;
      if (event.pointerType !== "touch" && event.button === 0) from = placeOf(event);
    });
    svg.addEventListener("pointermove", (event) => {
      if (from === null) return;
      const to = placeOf(event);
      if (!drag && Math.abs(px(to) - px(from)) < 8) return;
      if (!drag) { drag = document.createElementNS(svg.namespaceURI, "rect"); drag.classList.add("dragged"); drag.setAttribute("y", TOP); drag.setAttribute("height", HEIGHT + 44); svg.append(drag); }
      drag.setAttribute("x", Math.min(px(from), px(to)));
      drag.setAttribute("width", Math.abs(px(to) - px(from)));
    });
    addEventListener("pointerup", (event) => {
      if (drag) {
        const to = placeOf(event);
        drag.remove();
        dragged = true;
        show(Math.min(from, to), Math.max(from, to));
      }
      from = drag = null;
    });
    svg.addEventListener("click", (event) => { if (dragged) { event.preventDefault(); event.stopPropagation(); } }, { capture: true });
  };
  $$("figure.chart").forEach(zoomed);

  // --- settle a match ---
  const DECISIONS = ["step", "pass", "decision", "source", "line", "note"];
  const made = new Map(); // 'step pass' -> decisions, one list a step
  const named2 = (step, pass) => JSON.stringify([step, Number(pass) || null]);
  for (const row of data.settle.decisions) made.set(named2(row.step, row.pass), [...(made.get(named2(row.step, row.pass)) ?? []), row]);
  for (const [name, rows] of kept("decisions") ?? []) made.set(name, rows);
  const list = $("#settle-list");
  list.replaceChildren();
  const told = (text) => { $("#settle-told").textContent = text; };
  const count = () => told(made.size ? `${made.size} settled` : "nothing settled yet");
  const offer = (row) => {
    const [step, pass, lines] = data.settle.steps[row];
    const name = named2(step, pass);
    const before = (made.get(name) ?? [])[0];
    const box = make("fieldset", { id: `settle-${row}`, tabindex: "-1" });
    const action = $(`#step-${row} td[dir]`)?.firstChild?.textContent ?? "";
    box.append(make("legend", {}, `${step} `, make("bdi", {}, action), pass > 1 ? `, pass ${pass}` : ""));
    const note = make("input", { autocomplete: "off", "aria-label": `why, for step ${step}` });
    note.value = before?.note ?? "";
    const choose = (decision, source, line) => {
      if (decision) made.set(name, [{ step, pass, decision, source, line, note: note.value }]); else made.delete(name);
      keep("decisions", [...made]);
      count();
    };
    let chosen = () => {};
    const choice = (label, decision, source = "", line = "") => {
      const radio = make("input", { type: "radio", name: `settle-${row}` });
      const pick = () => choose(decision, source, line);
      radio.addEventListener("change", () => { chosen = pick; pick(); });
      if (before ? before.decision === decision && `${before.source ?? ""}:${before.line ?? ""}` === `${source}:${line}` : !decision) { radio.checked = true; chosen = pick; }
      box.append(make("label", { class: "choice" }, radio, " ", ...label));
    };
    choice(["leave it as it was judged"], "");
    for (const [index, part, score] of lines) {
      const [source, line, time, at, who, text] = data.lines[index];
      choice([make("q", { dir: "auto" }, text), ` ${time}, ${at}${who ? `, ${who}` : ""}, `, make("cite", {}, `${data.sources[source]}:${line}`), ` (as its ${part}, ${Math.round(score * 100)} %)`], "matched", data.sources[source], line);
    }
    // Any other line, by its log and number: what the matcher did not offer can still be right.
    const log = make("select", { "aria-label": `log of another line for step ${step}` }, ...data.logs.map((name) => make("option", {}, name)));
    const number = make("input", { type: "number", min: "1", "aria-label": `number of another line for step ${step}` });
    const other = make("input", { type: "radio", name: `settle-${row}` });
    const pickOther = () => { if (Number(number.value) >= 1) choose("matched", log.value, Number(number.value)); else told("give the number of the line"); };
    if (before?.decision === "matched" && !$("input:checked", box)) { log.value = before.source; number.value = before.line; other.checked = true; chosen = pickOther; }
    other.addEventListener("change", () => { chosen = pickOther; pickOther(); });
    for (const part of [log, number]) part.addEventListener("input", () => { other.checked = true; chosen = pickOther; pickOther(); });
    box.append(make("div", { class: "choice" }, make("label", {}, other, " another line: "), log, " line ", number));
    choice(["it was missed"], "missed");
    choice(["ignore this step"], "ignore");
    note.addEventListener("input", () => chosen());
    box.append(make("label", {}, "why ", note));
    return box;
  };
  const settle = (row, focus) => {
    const there = document.getElementById(`settle-${row}`) ?? list.appendChild(offer(row));
    if (focus) { there.scrollIntoView({ block: "center" }); there.focus(); }
  };
  for (const row of data.settle.rows) settle(row, false);
  for (const [row, [step, pass]] of Object.entries(data.settle.steps)) if (made.has(named2(step, pass))) settle(row, false);
  if (!list.children.length) list.append(make("p", { class: "soft" }, "Nothing is open. Any step can be settled from its row above."));
  for (const button of $$("[data-settle]")) button.addEventListener("click", () => { $("p", list)?.remove(); settle(button.dataset.settle, true); });
  count();
  const cell = (value) => { const text = String(value ?? ""); return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text; };
  $("#save-decisions").addEventListener("click", () => {
    const rows = [...made.values()].flat().map((row) => DECISIONS.map((name) => cell(row[name])).join(","));
    save("decisions.csv", "text/csv", [DECISIONS.join(","), ...rows, ""].join("\r\n"));
    told(`${rows.length} saved as decisions.csv`);
  });

  // --- notes ---
  const NOTES = ["meant", "happened", "why", "next", "owner", "due"];
  const form = $("#note-form");
  const noteOf = (box) => Object.fromEntries([["about", box.dataset.about], ["title", $("legend", box).textContent], ...NOTES.map((name) => [name, $(`[name=${name}]`, box).value])]);
  const written = () => $$("fieldset", form).map(noteOf).filter((note) => NOTES.some((name) => note[name].trim()));
  const addTopic = (about, title) => {
    const box = $("fieldset", form).cloneNode(true);
    box.id = `note-${$$("fieldset", form).length}`;
    box.dataset.about = about;
    $("legend", box).textContent = title;
    for (const name of NOTES) $(`[name=${name}]`, box).value = "";
    $(".note", box).open = true;
    form.append(box);
    return box;
  };
  const fileNotes = written();
  for (const note of kept("notes") ?? []) {
    const box = $$("fieldset", form).find((b) => b.dataset.about === note.about) ?? addTopic(note.about, note.title);
    // What was read from the file and not changed here since wins over nothing, and what was typed here over both.
    for (const name of NOTES) if (note[name]) $(`[name=${name}]`, box).value = note[name];
    $(".note", box).open = true;
  }
  form.addEventListener("input", () => keep("notes", written()));
  form.addEventListener("submit", (event) => event.preventDefault());
  let unsaved = false;
  form.addEventListener("input", () => { unsaved = true; });
  $("#add-note").addEventListener("click", () => {
    const title = $("#new-topic").value.trim();
    if (!title) { $("#new-topic").focus(); return; }
    $("#new-topic").value = "";
    addTopic(title, title).focus();
  });
  const ESCAPES = { "\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t" };
  const toml = (text) => {
    const whole = text.toWellFormed ? text.toWellFormed() : text;
    return `"${whole.replace(/[\\"\u0000-\u001f\u007f]/g, (c) => ESCAPES[c] ?? `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`)}"`;
  };
  $("#save-notes").addEventListener("click", () => {
    const notes = written();
    const text = notes.map((note) => ["[[topic]]", ...Object.entries(note).filter(([, v]) => v).map(([k, v]) => `${k} = ${toml(v)}`), ""].join("\n")).join("\n");
    save("notes.toml", "application/toml", text);
    unsaved = false;
    $("#notes-told").textContent = `${notes.length} saved as notes.toml`;
  });
  $("#notes-told").textContent = fileNotes.length ? `${fileNotes.length} read from notes.toml` : "";
  addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
  followed();
})();
