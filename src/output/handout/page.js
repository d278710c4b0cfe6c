"use strict";
// Every number stands in the tables that came with the page. This looks them up, places the drawings and writes the reading.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const slider = find("crank");
  const last = data.rows - 1;
  const words = { P: "power", E: "exhaust", I: "intake", C: "compression" };
  const minus = (text) => text.replace("-", "\u2212");
  const value = (table, row) => table.v[row] / 10 ** table.p;
  const shown = (table, row) => minus(value(table, row).toFixed(table.p));
  const plain = (table, row) => minus(String(value(table, row)));
  const bodies = data.bodies.map((body) => ({ element: find(body.id), moves: body.moves }));

  const step = {
    r: (row, [, table, x, y]) => `rotate(${value(data.tables[table], row)} ${x} ${y})`,
    t: (row, [, table, x, y]) => `translate(${value(data.tables[table], row) * x} ${value(data.tables[table], row) * y})`,
    s: (row, [, x, y]) => `translate(${x} ${y})`,
    y: (row, [, table, y]) => `translate(0 ${y}) scale(1 ${value(data.tables[table], row)}) translate(0 ${-y})`,
  };
  const length = (table, row) => `${shown(data.tables[table], row)} ${data.unit}`;
  const valve = (open, table, row) => {
    if (open) return `open ${length(table, row)}`;
    return data.tables[table].v[row] > 0 ? `shut (${length(table, row)})` : "shut";
  };

  let row = 0;
  let hearing = 0;

  const show = () => {
    for (const body of bodies) {
      body.element.setAttribute("transform", body.moves.map((move) => step[move[0]](row, move)).join(" "));
    }
    for (const cylinder of data.cylinders) {
      const open = Number(cylinder.open[row]);
      find(`stroke${cylinder.number}`).textContent = words[cylinder.strokes[row]];
      find(`drop${cylinder.number}`).textContent = length(cylinder.drop, row);
      find(`intake${cylinder.number}`).textContent = valve(open % 2 === 1, cylinder.intake, row);
      find(`exhaust${cylinder.number}`).textContent = valve(open >= 2, cylinder.exhaust, row);
    }
    for (const [id, number] of data.letters) {
      find(id).textContent = data.cylinders[number - 1].strokes[row];
    }
    find("says").textContent = data.says[data.saying[row]];
    find("spark").textContent = `No. ${data.spark.cylinder[row]}, in ${plain(data.spark.after, row)}°${(data.wasted ?? [])[row] ?? ""}`;
    find("firing").textContent = `No. ${data.firing.cylinder[row]}, in ${plain(data.firing.after, row)}°`;
    if (data.rotor) {
      const past = value(data.rotor.past, row);
      const place = past === 0 ? "on" : `${Math.abs(past)}° ${past < 0 ? "short of" : "past"}`;
      find("rotor").textContent = `at ${plain(data.rotor.clock, row)}°, ${place} the tower of No. ${data.rotor.tower[row]}`;
    }
    data.marks.forEach((mark, index) => {
      find(`mark${index}`).textContent = `${plain(mark, row)}°`;
    });
    const blocked = data.blocked.length ? data.blocks[data.blocked[row]] : "";
    if (find("blocked")) find("blocked").textContent = blocked;
    document.body.classList.toggle("stopped", Boolean(blocked));
    find("degrees").textContent = `${row}°`;
    slider.setAttribute("aria-valuetext", `${row} degrees`);
    // A listener hears where the engine stands once it stands, not all the way round.
    clearTimeout(hearing);
    hearing = setTimeout(() => {
      const hidden = document.body.classList.contains("hide");
      const stands = hidden ? "" : find("says").textContent;
      find("live").textContent = [`Crank ${row}°.`, blocked, stands].filter(Boolean).join(" ");
    }, 400);
  };

  const hide = () => {
    if (!data.quiz) return;
    document.body.classList.add("hide");
    find("ask").setAttribute("aria-pressed", "false");
  };
  const go = (to) => {
    row = ((Math.round(to) % data.rows) + data.rows) % data.rows;
    slider.value = row;
    hide();
    show();
  };

  slider.addEventListener("input", () => go(Number(slider.value)));
  for (const button of document.querySelectorAll("[data-by]")) {
    button.addEventListener("click", () => go(row + Number(button.dataset.by)));
  }
  // As far on as the table says; what falls between two degrees, to the next whole one.
  find("next").addEventListener("click", () => go(row + Math.ceil(value(data.firing.after, row))));
  if (data.quiz) {
    find("ask").addEventListener("click", () => {
      const hidden = document.body.classList.toggle("hide");
      find("ask").setAttribute("aria-pressed", String(!hidden));
      show();
    });
  }
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target === slider) return;
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!by) return;
    go(row + by * (event.shiftKey ? 10 : 1));
    event.preventDefault();
  });
  for (const drawing of document.querySelectorAll("figure .drawing")) {
    let from = null;
    drawing.addEventListener("pointerdown", (event) => {
      from = { x: event.clientX, row };
      drawing.setPointerCapture(event.pointerId);
    });
    drawing.addEventListener("pointermove", (event) => {
      if (!from) return;
      const wide = drawing.getBoundingClientRect().width;
      const to = from.row + ((event.clientX - from.x) / wide) * Number(drawing.closest("figure").dataset.drag);
      if (Math.round(to) !== row) go(to);
    });
    for (const end of ["pointerup", "pointercancel"]) drawing.addEventListener(end, () => { from = null; });
  }
  slider.max = last;
  document.body.classList.add("scripted");
  hide();
  show();
})();
