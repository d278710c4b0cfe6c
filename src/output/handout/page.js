"use strict";
// Every number stands in the tables that came with the page. This looks them up, places the drawings, writes the reading, and
// asks: the rules of the questions are those of src/quiz, their words come with the page, and both are held together by
// tests/handout.rs.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const find = (id) => document.getElementById(id);
  const page = document.body;
  const slider = find("crank");
  const rows = data.rows;
  const words = { P: "power", E: "exhaust", I: "intake", C: "compression" };
  const minus = (text) => text.replace("-", "\u2212");
  const value = (table, row) => table.v[row] / 10 ** table.p;
  const shown = (table, row) => minus(value(table, row).toFixed(table.p));
  const plain = (table, row) => minus(String(value(table, row)));
  const figure = (number) => minus(String(Math.round(number * 100) / 100));
  const bodies = data.bodies.map((body) => {
    const element = find(body.id);
    return { ...body, element, drawing: element.closest(".drawing") };
  });

  // An angle within its cycle; what is short of the end by the rounding of a few sums is at the start. As src/angle.rs has it.
  const wrap = (degrees, cycle) => {
    let wrapped = degrees;
    if (degrees < 0 || degrees >= cycle) wrapped = degrees >= -cycle && degrees < 0 ? degrees + cycle : ((degrees % cycle) + cycle) % cycle;
    return wrapped > cycle - 1e-9 ? 0 : wrapped;
  };
  const wrapSigned = (degrees, cycle) => wrap(degrees + cycle / 2, cycle) - cycle / 2;
  const phase = (index, crank) => wrap(crank - data.fires[index], 720);
  // Words with these put in where their names stand in braces.
  const filled = (text, putIn) => text.replace(/\{(\w+)\}/g, (_, name) => putIn[name]);
  // How far past something, or before it, in whole degrees.
  const aside = (degrees, at, before, past) => {
    const deg = Math.round(Math.abs(degrees));
    if (deg === 0) return at;
    return filled(degrees < 0 ? before : past, { deg });
  };
  const deadCentre = (at) => {
    const near = (end) => Math.abs(at - end) <= 0.5;
    if (near(0) || near(720)) return "firing";
    if (near(360)) return "overlap";
    return "";
  };

  // ---- What stands where ----

  let row = 0;
  // How the parts stand that a question put in otherwise than drawn; null where nothing is.
  let fault = null;

  // A table's number at a place between two rows; of angles, the short way from row to row.
  const between = (table, place, turning) => {
    const from = Math.floor(place);
    const [one, other] = [from, from + 1].map((at) => value(table, ((at % rows) + rows) % rows));
    const on = turning ? wrapSigned(other - one, 360) : other - one;
    return one + (place - from) * on;
  };
  const step = {
    r: (place, [, table, x, y], more) => `rotate(${between(data.tables[table], place, true) + more} ${x} ${y})`,
    t: (place, [, table, x, y]) => {
      const by = between(data.tables[table], place);
      return `translate(${by * x} ${by * y})`;
    },
    s: (place, [, x, y]) => `translate(${x} ${y})`,
    y: (place, [, table, y]) => `translate(0 ${y}) scale(1 ${between(data.tables[table], place)}) translate(0 ${-y})`,
  };
  // The drawings that are in sight: what is not is moved once it is. A slow phone turns smoothly so.
  const inSight = new Set();
  const drawn = (drawings = inSight) => {
    for (const body of bodies) {
      if (!drawings.has(body.drawing)) continue;
      const place = row + (fault && body.cam !== undefined ? fault.cams[body.cam] / 100 : 0);
      const more = fault && body.rotor ? (data.quiz.rotor * fault.rotor) / 100 : 0;
      body.element.setAttribute("transform", body.moves.map((move) => step[move[0]](place, move, more)).join(" "));
      if (body.valve) {
        const [index, which] = body.valve;
        const at = ((Math.round(place) % rows) + rows) % rows;
        body.element.classList.toggle("open", Boolean(Number(data.cylinders[index].open[at]) & which));
      }
    }
  };

  const length = (table, at) => `${shown(data.tables[table], at)} ${data.unit}`;
  const valve = (open, table, at) => {
    const { v } = data.tables[table];
    if (open) return v[at] > 0 ? `open ${length(table, at)}` : "just open";
    return v[at] > 0 ? `shut (${length(table, at)})` : "shut";
  };
  const named = (numbers) => {
    const all = numbers.map((number) => `No. ${number}`);
    return all.length > 1 ? `${all.slice(0, -1).join(", ")} and ${all.at(-1)}` : all[0];
  };
  const onCompression = (at) => data.cylinders.filter(({ strokes }) => strokes[at] === "C").map(({ number }) => number);
  // Where the engine stands, in words: as `dotwise at` says it.
  const stands = (at) => {
    const standing = (which) => data.cylinders.filter((_, index) => deadCentre(phase(index, at)) === which).map(({ number }) => number);
    const [firing, overlap] = [standing("firing"), standing("overlap")];
    const [comes, after] = [data.firing.cylinder[at], value(data.firing.after, at)];
    const next = `No. ${comes} next, in ${figure(after)}°.`;
    const compressing = onCompression(at).filter((number) => !firing.includes(number));
    if (firing.length) {
      return `${named(firing)} at TDC, end of compression (firing). ${after < 0.5 ? "It is not quite there yet." : next}`;
    }
    if (overlap.length) return `${named(overlap)} at TDC on overlap, not firing. ${next}`;
    if (!compressing.length) return `No cylinder on compression. ${next}`;
    if (compressing.length === 1 && compressing[0] === comes) {
      return `No. ${comes} on compression, at TDC (firing) in ${figure(after)}°.`;
    }
    return `${named(compressing)} on compression. At TDC (firing): ${next}`;
  };

  const write = (id, text) => {
    const element = find(id);
    if (element.textContent !== text) element.textContent = text;
  };
  const reading = () => {
    for (const [id, number] of data.letters) write(id, data.cylinders[number - 1].strokes[row]);
    write("says", stands(row));
  };
  const readout = document.querySelector(".readout");
  const figures = () => {
    for (const cylinder of data.cylinders) {
      const open = Number(cylinder.open[row]);
      write(`stroke${cylinder.number}`, words[cylinder.strokes[row]]);
      write(`drop${cylinder.number}`, length(cylinder.drop, row));
      write(`intake${cylinder.number}`, valve(open % 2 === 1, cylinder.intake, row));
      write(`exhaust${cylinder.number}`, valve(open >= 2, cylinder.exhaust, row));
    }
    write("spark", `No. ${data.spark.cylinder[row]}, in ${plain(data.spark.after, row)}°${(data.wasted ?? [])[row] ?? ""}`);
    write("firing", `No. ${data.firing.cylinder[row]}, in ${plain(data.firing.after, row)}°`);
    if (data.rotor) {
      const past = value(data.rotor.past, row);
      const place = past === 0 ? "on" : `${Math.abs(past)}° ${past < 0 ? "short of" : "past"}`;
      write("rotor", `at ${plain(data.rotor.clock, row)}°, ${place} the tower of No. ${data.leads[data.rotor.tower[row]]}`);
    }
    data.marks.forEach((mark, index) => write(`mark${index}`, `${plain(mark, row)}°`));
    readout.dataset.at = row;
  };

  // ---- Turning it ----

  let hearing = 0;
  let addressing = 0;
  let playing = 0;
  // Whether the readout is in sight; out of sight it waits until the crank stands, for writing it takes a slow phone long.
  const read = { inSight: false, later: 0 };
  // The question that is open; null where none is.
  let open = null;

  const addressed = (text) => {
    try {
      history.replaceState(null, "", text);
    } catch {
      // Some readers of files let no page change its address: it turns all the same.
    }
  };
  // A listener hears where the engine stands, and the address follows, once it stands, not all the way round.
  const follow = (blocked) => {
    clearTimeout(hearing);
    hearing = setTimeout(() => {
      const hidden = page.classList.contains("hide");
      const at = page.classList.contains("asking") ? "Turned." : `Crank ${row}°.`;
      write("live", [at, blocked, hidden || fault ? "" : stands(row)].filter(Boolean).join(" "));
    }, 400);
    if (!addressing && !round) {
      addressing = setTimeout(() => {
        addressing = 0;
        if (!round) addressed(`#${row}`);
      }, 400);
    }
  };
  const show = () => {
    drawn();
    reading();
    clearTimeout(read.later);
    if (read.inSight) figures();
    else read.later = setTimeout(figures, 60);
    const blocked = data.blocked.length ? data.blocks[data.blocked[row]] : "";
    if (find("blocked")) write("blocked", blocked);
    page.classList.toggle("stopped", Boolean(blocked));
    write("degrees", `${row}°`);
    write("at", `${row}°`);
    slider.setAttribute("aria-valuetext", `${row} degrees`);
    if (open) find("back").disabled = row === Math.round(open.crank) % rows;
    follow(blocked);
  };
  const hide = () => {
    if (!data.quiz || (round && !open)) return;
    page.classList.add("hide");
    find("ask").setAttribute("aria-pressed", "false");
  };
  const go = (to) => {
    row = ((Math.round(to) % rows) + rows) % rows;
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

  // One step for one key, wherever it is pressed: 1°, with Shift and a page 10°. Past the end it goes round.
  const keys = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const { key, target } = event;
    if (target.id === "code") return;
    if (round && choose(key)) return;
    const by = target === slider || ["ArrowRight", "ArrowLeft"].includes(key) ? keys[key] : undefined;
    if (!by) return;
    go(row + by * (event.shiftKey && Math.abs(by) === 1 ? 10 : 1));
    event.preventDefault();
  });
  for (const drawing of document.querySelectorAll("figure .drawing")) {
    let from = null;
    drawing.addEventListener("pointerdown", (event) => {
      play(false);
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

  // ---- Turning by itself ----

  const DEGREES_A_SECOND = 60;
  const play = (on) => {
    if (on === Boolean(playing)) return;
    cancelAnimationFrame(playing);
    playing = 0;
    if (!on) show();
    if (on) {
      let since = null;
      let gone = 0;
      const frame = (now) => {
        gone += ((now - (since ?? now)) * DEGREES_A_SECOND) / 1000;
        since = now;
        const whole = Math.floor(gone);
        gone -= whole;
        playing = requestAnimationFrame(frame);
        if (whole) go(row + whole);
      };
      playing = requestAnimationFrame(frame);
    }
    const button = find("play");
    button.setAttribute("aria-pressed", String(on));
  };
  find("play").addEventListener("click", () => play(!playing));
  // Whoever asks for little motion turns it by hand.
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const hold = () => {
    if (still.matches) play(false);
    find("play").hidden = still.matches;
  };
  still.addEventListener("change", hold);
  hold();

  // ---- Type that can be read ----

  const watch = new IntersectionObserver((all) => {
    for (const { target, isIntersecting } of all) {
      if (target === readout) {
        read.inSight = isIntersecting;
        figures();
        continue;
      }
      if (!isIntersecting) inSight.delete(target);
      else if (inSight.add(target)) drawn(new Set([target]));
    }
  }, { rootMargin: "100px" });
  watch.observe(readout);
  document.querySelectorAll("figure .drawing").forEach((drawing) => watch.observe(drawing));

  const LEAST_PX = 12;
  // On paper a drawing stands at about half its size.
  const LEAST_PRINTED_MM = 4;
  // What is squeezed by no more than this is still read well.
  const SQUEEZED = 0.8;
  // No type smaller than so many of the drawing's own millimetres; what has grown over its edge is drawn narrower, or moved back.
  const enlarge = (drawing, least) => {
    for (const text of drawing.querySelectorAll("text")) {
      text.dataset.size ??= text.getAttribute("font-size");
      text.setAttribute("font-size", Math.max(Number(text.dataset.size), least).toFixed(3));
      if (!text.hasAttribute("x") || text.closest("g")) continue;
      text.dataset.x ??= text.getAttribute("x");
      text.setAttribute("x", text.dataset.x);
      text.removeAttribute("textLength");
      const { x, width } = text.getBBox();
      const over = Math.max(0, 1 - x) - Math.max(0, x + width + 1 - drawing.viewBox.baseVal.width);
      const left = width - Math.abs(over);
      if (over && text.getAttribute("text-anchor") !== "middle" && left > width * SQUEEZED) {
        text.setAttribute("lengthAdjust", "spacingAndGlyphs");
        text.setAttribute("textLength", left.toFixed(3));
      } else text.setAttribute("x", (Number(text.dataset.x) + over).toFixed(3));
    }
  };
  const legible = (drawing) => {
    const scale = drawing.getScreenCTM()?.a;
    if (scale) enlarge(drawing, LEAST_PX / scale);
  };
  const drawings = document.querySelectorAll("figure .drawing");
  const sizes = new ResizeObserver((all) => all.forEach(({ target }) => legible(target)));
  drawings.forEach((drawing) => sizes.observe(drawing));
  addEventListener("beforeprint", () => {
    figures();
    drawn(new Set(drawings));
    drawings.forEach((drawing) => enlarge(drawing, LEAST_PRINTED_MM));
  });
  addEventListener("afterprint", () => drawings.forEach(legible));

  // ---- The questions of a code: src/quiz, once more ----

  // src/quiz/chance.rs
  const chanceOf = (code) => {
    let mixed = 0x811c9dc5;
    for (const letter of code) {
      if (/^[0-9A-Za-z]$/.test(letter)) mixed = Math.imul(mixed ^ letter.toUpperCase().charCodeAt(0), 0x01000193);
    }
    let state = mixed >>> 0 || 1;
    const next = () => {
      state ^= state << 13;
      state ^= state >>> 17;
      state ^= state << 5;
      state >>>= 0;
      return state;
    };
    for (let drop = 0; drop < 8; drop += 1) next();
    const below = (many) => (many ? next() % many : 0);
    const pick = (from) => (from.length ? from[below(from.length)] : undefined);
    const shuffle = (all) => {
      for (let last = all.length - 1; last > 0; last -= 1) {
        const other = below(last + 1);
        [all[last], all[other]] = [all[other], all[last]];
      }
    };
    return { below, pick, shuffle };
  };

  const degrees = [...Array(rows).keys()];
  const indices = data.cylinders.map((_, index) => index);
  const CLEAR_DEG = 8;
  const isClear = (index, crank) => {
    const at = phase(index, crank);
    return [0, data.down, 360, 360 + data.down].every((end) => Math.abs(wrapSigned(end - at, 720)) >= CLEAR_DEG);
  };
  const clearOf = (those) => degrees.filter((crank) => those.every((index) => isClear(index, crank)));
  const cylinders = () => data.cylinders.map(({ number }) => `No. ${number}`);
  const told = data.quiz?.words;
  const ofCylinder = (text, index) => filled(text, { cylinder: data.cylinders[index].number });
  const aboutFiring = (past) => aside(wrapSigned(past, 720), told.at, told.before, told.past);
  const strokeNames = ["power", "exhaust", "intake", "compression"];
  const deadCentres = ["TDC firing", "TDC overlap"];

  // How the drawings of this page stand with nothing wrong; undefined where nothing is, or where the body is turned.
  const putRight = (wrong, looks) => {
    const { faults, built } = data.quiz;
    const drawn = faults[0].looks;
    if (wrong === 0 || built.body !== drawn.body) return undefined;
    const { rotor, leads } = drawn;
    return { cams: drawn.cams.map((cam, index) => cam - (looks ? 0 : built.cams[index])), rotor: rotor - (looks ? 0 : built.rotor), leads };
  };

  const ask = {
    compression: (chance) => {
      const crank = chance.pick(clearOf(indices).filter((at) => onCompression(at).length));
      if (crank === undefined) return undefined;
      const right = onCompression(crank).map((number) => number - 1);
      const text = right.length > 1 ? told.one_on_compression : told.on_compression;
      return { kind: "compression", text, crank, choices: cylinders(), right, looks: null };
    },
    stroke: (chance) => {
      const index = chance.pick(indices);
      const crank = chance.pick(clearOf([index]));
      if (crank === undefined) return undefined;
      const right = [strokeNames.indexOf(words[data.cylinders[index].strokes[crank]])];
      return { kind: "stroke", text: ofCylinder(told.stroke_of, index), crank, choices: strokeNames, right, looks: null, index };
    },
    rotor: (chance) => {
      const reached = (at) => Math.abs(data.rotor.past.v[at]) <= data.quiz.reach[data.rotor.tower[at]];
      const crank = chance.pick(degrees.filter(reached));
      if (crank === undefined) return undefined;
      const right = [data.leads[data.rotor.tower[crank]] - 1];
      const text = filled(told.rotor_points, { crank: aboutFiring(crank) });
      return { kind: "rotor", text, crank, choices: cylinders(), right, looks: null };
    },
    dead_centre: (chance) => {
      const index = chance.pick(indices);
      const crank = wrap(data.fires[index] + (chance.below(2) === 1 ? 360 : 0), 720);
      const right = [deadCentre(phase(index, crank)) === "firing" ? 0 : 1];
      const text = ofCylinder(told.firing_or_overlap, index);
      return { kind: "dead_centre", text, crank, choices: deadCentres, right, looks: null, index };
    },
    wrong: (chance) => {
      const { faults, built } = data.quiz;
      const alike = (one, other) => JSON.stringify(one) === JSON.stringify(other);
      // 0 is as drawn: then it is put together for this question, else it stays as it was built.
      const planted = faults.findIndex(({ looks }) => alike(looks, built));
      const wrong = planted > 0 ? planted : chance.below(faults.length);
      const others = [...faults.keys()].filter((index) => index > 0 && index !== wrong);
      chance.shuffle(others);
      const offered = [wrong, ...(wrong ? [0] : []), ...others].slice(0, 4);
      chance.shuffle(offered);
      const crank = chance.below(72) * 10;
      const choices = offered.map((index) => faults[index].says);
      const looks = planted > 0 ? null : faults[wrong].looks;
      const right = [offered.indexOf(wrong)];
      return { kind: "wrong", text: data.quiz.wrong, crank, choices, right, looks, fault: faults[wrong], put_right: putRight(wrong, looks) };
    },
  };

  // src/quiz/round.rs
  const questionsOf = (code) => {
    const chance = chanceOf(code);
    const all = [];
    let kinds = [];
    for (let tried = 0; tried < 100 && all.length < 9; tried += 1) {
      if (!kinds.length) {
        kinds = [...data.quiz.kinds];
        chance.shuffle(kinds);
      }
      const kind = kinds.pop();
      const twice = (question) => question && all.some(({ text, crank }) => text === question.text && crank === question.crank);
      let question = ask[kind](chance);
      for (let drawn = 1; drawn < 20 && twice(question); drawn += 1) question = ask[kind](chance);
      if (question && !twice(question)) all.push(question);
    }
    all.push(ask.wrong(chance));
    return all;
  };

  // ---- Why an answer is right ----

  const standing = (index, crank) => {
    const cylinder = data.cylinders[index];
    const stroke = words[cylinder.strokes[crank]];
    return filled(told.standing, {
      cylinder: cylinder.number,
      place: aboutFiring(phase(index, crank)),
      way: ["power", "intake"].includes(stroke) ? told.going_down : told.coming_up,
      valves: told.valves[Number(cylinder.open[crank])],
      stroke,
    });
  };
  const onStroke = (letter, crank) => {
    const those = data.cylinders.filter(({ strokes }) => strokes[crank] === letter).map(({ number }) => number);
    return those.length ? [filled(told.on_stroke, { stroke: words[letter], cylinders: named(those) })] : [];
  };
  // Why, in paragraphs: as the program gives the reason of the same question.
  const why = {
    compression: ({ crank, right }) =>
      [...right.map((index) => standing(index, crank)), ["P", "E", "I"].flatMap((letter) => onStroke(letter, crank)).join(" ")].filter(Boolean),
    stroke: ({ crank, index }) => [standing(index, crank)],
    rotor: ({ crank, right: [index] }) => [
      filled(told.rotor, {
        place: aboutFiring(phase(index, crank)),
        cylinder: index + 1,
        rotor: aside(value(data.rotor.past, crank), told.rotor_at, told.rotor_before, told.rotor_past),
      }),
    ],
    dead_centre: ({ crank, index, right: [which] }) => {
      const { intake, exhaust } = data.cylinders[index];
      const deg = data.quiz.either_side;
      const row = (by) => (((Math.round(crank) + by) % rows) + rows) % rows;
      const isOpen = (by, digit) => Boolean(Number(data.cylinders[index].open[row(by)]) & digit);
      const lift = (table, by) => (data.tables[table].v[row(by)] > 0 ? length(table, row(by)) : "");
      const valve = (is, text) => (is ? (text ? filled(told.open, { lift: text }) : told.just_open) : told.shut);
      const here = { intake: lift(intake, 0) || told.hardly, exhaust: lift(exhaust, 0) || told.hardly };
      const [before, after] = [isOpen(-deg, 2), isOpen(deg, 1)];
      const both = Number(data.cylinders[index].open[row(0)]);
      const either = both || before || after ? told.either_side : told.stay_shut;
      const tower = data.rotor && data.leads[data.rotor.tower[row(0)]];
      const rotor = tower === data.cylinders[index].number ? told.rotor_at_its_own : told.rotor_elsewhere;
      return [
        [
          filled(told.at_dead_centre[both], here),
          filled(either, { deg, exhaust: valve(before, lift(exhaust, -deg)), intake: valve(after, lift(intake, deg)) }),
          filled(told.that_is, { which: deadCentres[which] }),
          data.rotor && filled(rotor, { tower }),
          told.same_at_both,
          data.quiz.every_turn && told.sparks_at_both,
        ].filter(Boolean).join(" "),
      ];
    },
    wrong: (question) => question.fault.why,
  };
  // The drawing that shows it.
  const shownBy = ({ kind, fault: wrong }) => {
    if (kind === "rotor") return "cap";
    if (kind !== "wrong") return "along";
    if (!wrong.looks.cams.some(Boolean) && data.rotor) return "cap";
    return find("wheels") ? "wheels" : "gears";
  };

  // ---- Asking them ----

  // The round that is on; null where none is.
  let round = null;

  // The leads on the cap as they are plugged.
  const towers = [...document.querySelectorAll("#cap text")].map((text) => ({ text, drawn: text.textContent.split("+").map(Number) }));
  const plug = (leads) => {
    for (const { text, drawn } of towers) {
      const plugged = drawn.map((number) => leads[data.leads.indexOf(number)]);
      text.textContent = plugged.join("+");
      text.setAttribute("font-weight", plugged.includes(1) ? "bold" : "normal");
      text.previousElementSibling?.setAttribute("stroke-width", plugged.includes(1) ? ".9" : ".4");
    }
  };
  const assemble = (looks) => {
    fault = looks;
    page.classList.toggle("faulty", Boolean(looks));
    plug(looks ? looks.leads : data.leads);
  };

  // What is scrolled to comes to stand under the controls, which stay in sight.
  const bar = document.querySelector(".turn");
  const underTheBar = () => page.style.setProperty("--bar", `${bar.offsetHeight}px`);
  const bringUp = () => {
    underTheBar();
    find("round").scrollIntoView({ block: "start" });
  };
  addEventListener("resize", underTheBar);

  const choiceButton = (text, index) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = text;
    button.addEventListener("click", () => answer(index));
    return button;
  };
  const put = () => {
    const question = round.questions[round.at];
    open = question;
    play(false);
    assemble(question.looks);
    page.classList.add("asking");
    page.dataset.kind = question.kind;
    delete page.dataset.shows;
    write("count", `Code ${round.code}: question ${round.at + 1} of ${round.questions.length}, ${round.right} right`);
    write("asked", question.text);
    const leads = question.kind === "wrong" && data.quiz.leads;
    write("leads", leads ? `${leads}${(question.looks?.leads ?? data.leads).join("\u2011")}.` : "");
    find("choices").replaceChildren(...question.choices.map(choiceButton));
    const longest = Math.max(...question.choices.map((choice) => choice.length));
    find("choices").className = longest < 7 ? "short" : longest < 14 ? "middle" : "";
    write("told", "");
    find("on").hidden = true;
    find("back").hidden = question.kind === "wrong";
    find("flip").hidden = true;
    go(question.crank);
    find("asked").focus({ preventScroll: true });
    bringUp();
  };
  const paragraph = (text, name) => {
    const element = document.createElement("p");
    element.textContent = text;
    if (name) element.className = name;
    return element;
  };
  function answer(choice) {
    if (!open) return;
    const question = open;
    const right = question.right.includes(choice);
    open = null;
    round.right += right ? 1 : 0;
    round.given.push({ question, choice, right });
    const rightly = question.right.map((index) => question.choices[index]).join(" or ");
    [...find("choices").children].forEach((button, index) => {
      button.disabled = true;
      if (question.right.includes(index)) button.classList.add("right");
      else if (index === choice) button.classList.add("wrong");
    });
    const said = right ? "Right." : `Not so: ${rightly}.`;
    const lines = why[question.kind](question).filter((line) => right || line !== `${rightly}.`);
    find("told").replaceChildren(paragraph(said, right ? "right" : "wrong"), ...lines.map((line) => paragraph(line)));
    page.classList.remove("hide", "asking");
    delete page.dataset.kind;
    page.dataset.shows = shownBy(question);
    if (question.kind === "wrong") {
      page.classList.add("faulty");
      find("flip").hidden = !question.put_right;
      find("flip").setAttribute("aria-pressed", "false");
    }
    // A fault is seen where the marks are compared.
    go(question.kind === "wrong" ? 0 : question.crank);
    find("back").hidden = true;
    find("choices").classList.add("given");
    const last = round.at + 1 === round.questions.length;
    find("on").textContent = last ? "How it went" : "Next question";
    find("on").hidden = false;
    find("on").focus({ preventScroll: true });
    bringUp();
    // What shows it is brought up as far as the reason stays in sight.
    const over = find(page.dataset.shows).getBoundingClientRect().bottom - innerHeight;
    const room = find("told").getBoundingClientRect().top - bar.getBoundingClientRect().bottom;
    if (over > 0 && room > 0) scrollBy(0, Math.min(over, room));
    find("on").scrollIntoView({ block: "nearest" });
  }
  // A fault beside how it should be: the drawings put right, and as they were again.
  const flip = () => {
    const isRight = find("flip").getAttribute("aria-pressed") !== "true";
    find("flip").setAttribute("aria-pressed", String(isRight));
    const last = round.questions.at(-1);
    fault = isRight ? last.put_right : last.looks;
    plug(fault ? fault.leads : data.leads);
    show();
  };
  // Whether a key answered.
  function choose(key) {
    if (!open || !/^[1-9]$/.test(key) || Number(key) > open.choices.length) return false;
    answer(Number(key) - 1);
    return true;
  }
  const panels = (which) => {
    for (const id of ["begin", "open", "end"]) find(id).hidden = id !== which;
  };
  const begin = (code) => {
    const asked = code.trim() || String(1000 + Math.floor(Math.random() * 9000));
    round = { code: asked, questions: questionsOf(asked), at: 0, right: 0, given: [] };
    addressed(`#quiz-${encodeURIComponent(asked)}`);
    panels("open");
    put();
  };
  const stop = () => {
    round = null;
    open = null;
    assemble(null);
    page.classList.remove("asking");
    delete page.dataset.kind;
    delete page.dataset.shows;
    panels("begin");
    go(row);
    find("code").focus({ preventScroll: true });
  };
  const end = () => {
    panels("end");
    delete page.dataset.shows;
    write("score", `${round.right} of ${round.questions.length} right, code ${round.code}`);
    const last = round.given.at(-1).question;
    write("planted", `How this one was put together: ${last.choices[last.right[0]]}.`);
    const items = round.given.map(({ question, choice, right }) => {
      const item = document.createElement("li");
      const rightly = question.right.map((index) => question.choices[index]).join(" or ");
      item.textContent = `${question.text} ${right ? `Right: ${question.choices[choice]}.` : `You said: ${question.choices[choice]}. It was: ${rightly}.`}`;
      return item;
    });
    find("asked-all").replaceChildren(...items);
    find("score").focus({ preventScroll: true });
    bringUp();
  };
  const on = () => {
    round.at += 1;
    if (round.at < round.questions.length) put();
    else end();
  };
  if (data.quiz) {
    find("ask").addEventListener("click", () => {
      const hidden = page.classList.toggle("hide");
      find("ask").setAttribute("aria-pressed", String(!hidden));
      show();
    });
    find("begin").addEventListener("submit", (event) => {
      event.preventDefault();
      begin(find("code").value);
    });
    find("on").addEventListener("click", on);
    find("back").addEventListener("click", () => {
      go(open.crank);
      find("asked").focus({ preventScroll: true });
    });
    find("flip").addEventListener("click", flip);
    find("stop").addEventListener("click", stop);
    find("again").addEventListener("click", stop);
    // For whoever holds the page to the program.
    globalThis.questionsOf = (code) => questionsOf(code).map((question) => ({ ...question, why: why[question.kind](question) }));
  }

  find("how").querySelector("a").addEventListener("click", (event) => {
    event.preventDefault();
    const glossary = find("words");
    glossary.open = true;
    underTheBar();
    glossary.scrollIntoView();
    glossary.querySelector("summary").focus({ preventScroll: true });
  });

  // ---- Where it opens ----

  const opens = () => {
    const [, code] = /^#quiz-(.+)$/.exec(location.hash) ?? [];
    const [, at] = /^#(-?[0-9.]+)$/.exec(location.hash) ?? [];
    if (code && data.quiz) {
      let plainly = code;
      try {
        plainly = decodeURIComponent(code);
      } catch {
        // Half a sign: the code is what stands there.
      }
      begin(plainly.slice(0, 24));
    } else {
      if (round) stop();
      go(Number.isFinite(Number(at)) ? Number(at) : row);
    }
  };
  addEventListener("hashchange", opens);
  slider.max = rows - 1;
  page.classList.add("scripted");
  opens();
})();
