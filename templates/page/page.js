"use strict";
(() => {
const began = performance.now();
const $ = id => document.getElementById(id);
const D = JSON.parse($("data").textContent);
$("data").textContent = "";
const STATUS = ["ready", "measure", "check", "stop"];
const MEANING = {
  ready: "nothing stands against the cut",
  measure: "a measure at the riser is missing",
  check: "a person must look first",
  stop: "do not cut; no length is given",
};
const PER = 100;

// el makes an element; texts are only ever set as text, never as markup.
function el(tag, props, ...kids) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props || {})) {
    if (v === null || v === undefined || v === false) continue;
    if (k === "class") e.className = v;
    else if (k === "text") e.textContent = v;
    else if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else e.setAttribute(k, v === true ? "" : v);
  }
  e.append(...kids.filter(k => k !== null && k !== undefined));
  return e;
}
const pill = word => el("span", {class: "pill p-" + word, text: word});
const many = (n, one, more) => n.toLocaleString("en-US") + " " + (n === 1 ? one : more);

// Rows of the data: see the columns below for their places.
const B = 0, SITE = 1, ID = 2, PRODUCT = 3, STAT = 4, LIMIT = 5, PCT = 6, WORST = 7, DEPTH = 8, UPPER = 9, LOWER = 10, FULL = 11, DROP = 12, ALARM = 13, CHANCE = 14, FOUND = 15, FLAGS = 16;
const T = D.tanks;
const flagText = T.map(t => t[FLAGS].map(i => D.flags[i][0] + ": " + D.flags[i][1]).join("; "));
const hay = T.map((t, i) => [t[SITE], t[ID], t[PRODUCT], D.books[t[B]][0], STATUS[t[STAT]], flagText[i]].join("\n").toLowerCase());

// value reads a shown number, "1,234.5" or "48 7/8", for sorting.
function value(s) {
  if (s === "") return NaN;
  const m = /^(-?[\d,]*\.?\d*)(?:\s*(\d+)\/(\d+))?/.exec(s);
  if (!m) return NaN;
  if (m[3]) return (m[1].trim() === "" ? 0 : parseFloat(m[1])) + m[2] / m[3];
  const f = /^(\d+)\/(\d+)$/.exec(s);
  return f ? f[1] / f[2] : parseFloat(m[1].replace(/,/g, ""));
}
const words = new Intl.Collator("en", {numeric: true, sensitivity: "base"});
const columns = [
  {key: "tank", name: "Tank", text: i => T[i][ID]},
  {key: "site", name: "Site", text: i => T[i][SITE]},
  {key: "status", name: "Status", order: i => T[i][STAT]},
  {key: "limit", name: "Limit %", at: LIMIT},
  {key: "percent", name: "Shutoff %", at: PCT},
  {key: "worst", name: "Worst-case %", at: WORST},
  {key: "depth", name: "Shutoff depth, " + D.units[0], at: DEPTH},
  {key: "upper", name: "Upper tube, " + D.units[0], at: UPPER},
  {key: "lower", name: "Lower tube, " + D.units[0], at: LOWER},
  {key: "findings", name: "Findings", text: i => flagText[i], order: i => T[i][FLAGS].length},
  {key: "book", name: "Book", text: i => D.books[T[i][B]][0]},
];

// The state of the list stands in the address, so that a view can be passed on.
const fresh = () => ({q: "", status: "", finding: "", book: "", sort: "", dir: "", page: 1});
let S = fresh();
let shown = [];
let printing = false;

function readState(query) {
  S = fresh();
  for (const [k, v] of new URLSearchParams(query)) if (k in S) S[k] = k === "page" ? Math.max(1, parseInt(v, 10) || 1) : v;
}
function stateHash() {
  const p = new URLSearchParams();
  for (const [k, v] of Object.entries(S)) if (v && !(k === "page" && v === 1)) p.set(k, v);
  const s = p.toString();
  return "#list" + (s ? "?" + s : "");
}
// keep remembers the state of the list; in a page that may not touch its
// address the list works all the same.
function keep() {
  try { history.replaceState(null, "", stateHash()); } catch (e) { /* as said */ }
}

function apply() {
  const q = S.q.trim().toLowerCase().split(/\s+/).filter(w => w);
  const st = STATUS.indexOf(S.status);
  const fs = S.finding ? new Set(D.flags.flatMap((f, i) => f[1] === S.finding ? [i] : [])) : null;
  const bk = S.book === "" ? -1 : D.books.findIndex(b => b[0] === S.book);
  shown = [];
  for (let i = 0; i < T.length; i++) {
    const t = T[i];
    if (st >= 0 && t[STAT] !== st) continue;
    if (bk >= 0 && t[B] !== bk) continue;
    if (fs && !t[FLAGS].some(f => fs.has(f))) continue;
    if (q.length && !q.every(w => hay[i].includes(w))) continue;
    shown.push(i);
  }
  const col = columns.find(c => c.key === S.sort);
  if (col) {
    const key = col.order || (col.at ? i => value(T[i][col.at]) : null);
    const sign = S.dir === "desc" ? -1 : 1;
    if (key) {
      const k = new Map(shown.map(i => [i, key(i)]));
      // What is not known stands last, whichever way.
      shown.sort((a, b) => {
        const x = k.get(a), y = k.get(b), nx = Number.isNaN(x), ny = Number.isNaN(y);
        return nx || ny ? nx - ny || a - b : sign * (x - y) || a - b;
      });
    } else {
      shown.sort((a, b) => sign * words.compare(col.text(a), col.text(b)) || a - b);
    }
  }
}

function render() {
  apply();
  const pages = Math.max(1, Math.ceil(shown.length / PER));
  S.page = Math.min(S.page, pages);
  const from = printing ? 0 : (S.page - 1) * PER, to = printing ? shown.length : Math.min(shown.length, from + PER);
  const body = document.createDocumentFragment();
  for (let n = from; n < to; n++) body.append(line(shown[n]));
  if (!shown.length) body.append(el("tr", {}, el("td", {colspan: columns.length, text: "No tank fits. Change the search, or show all."})));
  $("tanks").tBodies[0].replaceChildren(body);
  for (const th of $("tanks").tHead.rows[0].cells) {
    const mine = th.dataset.key === S.sort;
    if (mine) th.setAttribute("aria-sort", S.dir === "desc" ? "descending" : "ascending"); else th.removeAttribute("aria-sort");
  }
  $("shown").textContent = shown.length === T.length ? many(T.length, "tank", "tanks") : many(shown.length, "tank", "tanks") + " of " + T.length.toLocaleString("en-US");
  $("at").textContent = "Page " + S.page + " of " + pages;
  $("prev").disabled = S.page <= 1;
  $("next").disabled = S.page >= pages;
  $("pager").hidden = pages < 2;
  $("q").value !== S.q && ($("q").value = S.q);
  $("f-status").value = S.status;
  $("f-finding").value = S.finding;
  $("f-book").value = S.book;
  for (const b of $("status").querySelectorAll("button")) b.setAttribute("aria-pressed", String(b.dataset.status === S.status));
}

// link is the address of a tank: by its book, site and id, so that it is the
// same after the next run.
const links = new Map(), byLink = new Map();
for (let i = 0; i < T.length; i++) {
  const parts = [D.books[T[i][B]][0], T[i][SITE], T[i][ID]].map(encodeURIComponent);
  let s = "#tank/" + parts.join("/");
  for (let n = 2; byLink.has(s); n++) s = "#tank/" + parts.join("/") + "/" + n;
  links.set(i, s);
  byLink.set(s, i);
}

function line(i) {
  const t = T[i];
  return el("tr", {"data-tank": i},
    el("th", {scope: "row"}, el("a", {href: links.get(i), text: t[ID] || "(no id)"})),
    el("td", {text: t[SITE]}),
    el("td", {}, pill(STATUS[t[STAT]])),
    ...[LIMIT, PCT, WORST, DEPTH, UPPER, LOWER].map(k => el("td", {class: "n", text: t[k]})),
    el("td", {class: "wrap", text: flagText[i]}),
    el("td", {class: "wrap", text: D.books[t[B]][0]}));
}

function set(change) {
  Object.assign(S, {page: 1}, change);
  keep();
  render();
}

function finding(f, where) {
  const [sev, slug, at, depth, found, expected, why, todo] = f;
  const dl = el("dl");
  for (const [name, text] of [["where", at], ["depth", depth], ["found", found], ["expected", expected], ["why", why], ["do", todo]])
    if (text) dl.append(el("dt", {text: name}), el("dd", {text}));
  return el("li", {class: "p-left-" + sev}, pill(sev), " ", el("b", {text: slug}), where ? ": " + where : null, dl);
}

function begin() {
  document.title = "Tanks of " + D.name;
  const total = STATUS.reduce((n, s) => n + (D.status[s] || 0), 0);
  for (const s of STATUS) {
    const n = D.status[s] || 0;
    if (n && total) {
      const part = el("span", {class: "s-" + s});
      part.style.flexGrow = n;
      $("bar").append(part);
    }
    $("status").append(el("li", {}, el("button", {type: "button", "data-status": s, "aria-pressed": "false", onclick: () => { set({status: S.status === s ? "" : s}); $("list").scrollIntoView(); }},
      el("b", {text: n.toLocaleString("en-US")}), " ", pill(s), el("small", {text: MEANING[s]}))));
    $("f-status").append(el("option", {value: s, text: s}));
  }
  if (D.failed.length) {
    $("failed").hidden = false;
    $("failed").querySelector("ul").append(...D.failed.map(f => el("li", {}, el("b", {text: f[0]}), ": " + f[1])));
  }
  const ch = $("changes");
  ch.querySelector("span").textContent = D.changes.summary;
  ch.querySelector("ol").append(...D.changes.list.map(text => el("li", {text})));
  if (D.changes.more) ch.append(el("p", {text: "and " + many(D.changes.more, "change more", "changes more") + "; the summary workbook has them"}));
  if (!D.changes.list.length) ch.querySelector("ol").remove();
  for (const [slug, sev, n, tanks, about, advice, severe] of D.kinds) {
    const name = tanks ? el("button", {class: "link", type: "button", text: slug, "aria-label": "show the tanks with " + slug, onclick: () => { set({...fresh(), finding: slug}); $("list").scrollIntoView(); $("list").focus({preventScroll: true}); }}) : slug;
    $("kinds").querySelector("tbody").append(el("tr", {}, el("th", {scope: "row"}, name), el("td", {}, pill(sev)), el("td", {class: "n", text: n.toLocaleString("en-US") + (severe < n ? ", " + severe.toLocaleString("en-US") + " of them " + sev : "")}), el("td", {class: "n", text: tanks.toLocaleString("en-US")}),
      el("td", {class: "wrap"}, about, advice ? el("br") : null, advice ? el("span", {text: "To do: " + advice}) : null)));
    if (tanks) $("f-finding").append(el("option", {value: slug, text: slug}));
  }
  if (!D.kinds.length) $("kinds").replaceChildren(el("summary", {}, el("h2", {text: "Nothing was found"})));
  // Long lists are made when they are opened.
  const later = (id, list, make) => {
    if (!list.length) return;
    const box = $(id);
    box.hidden = false;
    box.querySelector("h2").textContent += " (" + list.length.toLocaleString("en-US") + ")";
    box.addEventListener("toggle", () => {
      const ul = box.querySelector("ul");
      if (box.open && !ul.childElementCount) ul.append(...list.slice(0, 2000).map(make));
    });
  };
  later("across", D.across, a => {
    const li = finding(a.slice(0, 8), a[8]);
    const tanks = a[9].slice(0, 40);
    if (tanks.length) li.append(el("p", {}, "tanks: ", ...tanks.flatMap((i, n) => [n ? ", " : "", el("a", {href: links.get(i), text: T[i][ID] || "(no id)"})])));
    return li;
  });
  later("booknotes", D.notes, n => finding(n.slice(1), D.books[n[0]][0] + (n[9] ? ", chart " + n[9] : "")));
  later("due", D.due, d => el("li", {}, el("b", {text: d[0]}), ": " + many(d[1], "tank", "tanks") + (d[2] ? ", overdue on " + D.day : "")));
  for (const b of D.books) if (!b[1]) $("f-book").append(el("option", {value: b[0], text: b[0]}));
  if (D.pages.length > 1) {
    const nav = $("pages");
    nav.hidden = false;
    nav.append("This report has " + D.pages.length + " parts: ", ...D.pages.flatMap((p, n) => [n ? ", " : "", n === D.part ? el("b", {text: p[1]}) : el("a", {href: p[0], text: p[1]})]));
  }
  $("made").textContent = "Made by dropcut " + D.version + (D.settings ? ", planned with " + D.settings : "") + ". Lengths in " + D.units[0] + ", volumes in " + D.units[1] + ". This page loads nothing from anywhere.";
  $("tanks").tHead.rows[0].append(...columns.map(c => el("th", {scope: "col", class: c.at ? "n" : null, "data-key": c.key},
    el("button", {type: "button", text: c.name, onclick: () => set({sort: c.key, dir: S.sort === c.key && S.dir !== "desc" ? "desc" : ""})}))));
  $("q").addEventListener("input", () => set({q: $("q").value}));
  for (const [id, key] of [["f-status", "status"], ["f-finding", "finding"], ["f-book", "book"]]) $(id).addEventListener("change", () => set({[key]: $(id).value}));
  $("filter").addEventListener("reset", e => { e.preventDefault(); set(fresh()); });
  $("filter").addEventListener("submit", e => e.preventDefault());
  const turn = by => { S.page += by; keep(); render(); $("list").scrollIntoView(); };
  $("prev").addEventListener("click", () => turn(-1));
  $("next").addEventListener("click", () => turn(1));
  addEventListener("beforeprint", () => { if (!$("view-list").hidden) { printing = true; render(); } });
  addEventListener("afterprint", () => { if (printing) { printing = false; render(); } });
  addEventListener("hashchange", go);
}

// The bundle of a tank: pictures and calculation of tanks that stand together.
const first = [];
D.books.reduce((n, b) => { first.push(n); return n + Math.ceil(b[2] / D.bundle); }, 0);
const place = [];
{ const seen = new Map(); for (const t of T) { const n = seen.get(t[B]) || 0; seen.set(t[B], n + 1); place.push(n); } }
const unpacked = new Map();

async function detail(i) {
  if (unpacked.size > 8) unpacked.clear();
  if (document.readyState === "loading") await new Promise(r => document.addEventListener("DOMContentLoaded", r, {once: true}));
  const k = first[T[i][B]] + Math.floor(place[i] / D.bundle);
  if (!unpacked.has(k)) {
    if (typeof DecompressionStream !== "function") throw new Error("This browser cannot unpack the pictures; one of 2023 or later can. dropcut explain prints the calculation.");
    const raw = Uint8Array.from(atob($("b" + k).textContent), c => c.charCodeAt(0));
    unpacked.set(k, await new Response(new Blob([raw]).stream().pipeThrough(new DecompressionStream("gzip"))).json());
  }
  const all = unpacked.get(k), d = {};
  for (const name in all) d[name] = all[name][place[i] % D.bundle];
  return d;
}

// picture takes SVG as XML: what is no well-formed picture shows nothing.
function picture(svg, caption) {
  const doc = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  if (doc.nodeName !== "svg") return null;
  return el("figure", {}, document.importNode(doc, true), caption ? el("figcaption", {text: caption}) : null);
}

function rows(list, heads) {
  return el("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": heads.join(", ")}, el("table", {},
    el("thead", {}, el("tr", {}, ...heads.map(text => el("th", {scope: "col", text})))),
    el("tbody", {}, ...list.map(r => el("tr", {}, ...r.map((text, n) => el(n ? "td" : "th", {class: n ? "wrap" : null, scope: n ? null : "row", text})))))));
}

function trail(list) {
  return el("ol", {class: "trail"}, ...list.map(([name, val, formula, cells, source]) => {
    const dl = el("dl");
    for (const [lead, text] of [["=", formula], ["from", cells], ["by", source]])
      if (text) dl.append(el("dt", {text: lead}), el("dd", {text, class: lead === "by" ? null : "mono"}));
    return el("li", {class: "line"}, el("p", {}, el("span", {text: name}), el("b", {text: val})), dl);
  }));
}

let opened = -1;
async function open(i) {
  opened = i;
  const t = T[i];
  $("view-list").hidden = true;
  $("view-tank").hidden = false;
  $("h-tank").replaceChildren("Tank " + (t[ID] || "(no id)") + (t[SITE] ? ", " + t[SITE] : "") + " ", pill(STATUS[t[STAT]]));
  document.title = "Tank " + t[ID] + (t[SITE] ? ", " + t[SITE] : "");
  const at = shown.indexOf(i);
  for (const [id, by] of [["before", -1], ["after", 1]]) {
    const j = at < 0 ? undefined : shown[at + by];
    $(id).hidden = j === undefined;
    if (j !== undefined) $(id).href = links.get(j);
  }
  $("back").href = stateHash();
  const box = $("tank");
  box.replaceChildren(el("p", {text: "Unpacking ..."}));
  box.setAttribute("aria-busy", "true");
  $("h-tank").focus({preventScroll: true});
  scrollTo(0, 0);
  let d;
  try {
    d = await detail(i);
  } catch (e) {
    box.replaceChildren(el("p", {class: "warn", text: e.message}));
    box.removeAttribute("aria-busy");
    return;
  }
  if (opened !== i) return;
  const key = el("dl", {class: "key"});
  for (const [name, text] of [["Limit", t[LIMIT] && t[LIMIT] + " %"], ["Shuts off at", t[PCT] && t[PCT] + " %"], ["Shutoff depth", t[DEPTH] && t[DEPTH] + " " + D.units[0]], ["Worst case", t[WORST] && t[WORST] + " %"],
    ["Chance over the limit", t[CHANCE] && t[CHANCE] + " %"], ["Upper tube", t[UPPER] && t[UPPER] + " " + D.units[0]], ["Lower tube", t[LOWER] && t[LOWER] + " " + D.units[0]], ["Drop length", t[DROP] && t[DROP] + " " + D.units[0]],
    ["Alarm depth", t[ALARM] && t[ALARM] + " " + D.units[0]], ["Full volume", t[FULL] && t[FULL] + " " + D.units[1]], ["Tube as found", t[FOUND]]])
    if (text) key.append(el("div", {}, el("dt", {text: name}), el("dd", {text})));
  const found = d.found || [];
  const wide = D.across.filter(a => a[9].includes(i));
  const parts = [
    el("p", {text: MEANING[STATUS[t[STAT]]] + "; book " + D.books[t[B]][0]}),
    key,
    found.length + wide.length ? el("h3", {text: "Findings"}) : el("p", {text: "Nothing was found about this tank."}),
    el("ul", {class: "found"}, ...found.map(f => finding(f)), ...wide.map(a => finding(a.slice(0, 8), "seen across the books"))),
    el("h3", {text: "Drawing and chart"}),
    el("div", {class: "pictures"}, picture(d.tank, "The tank at its fill, to scale."), d.plot ? picture(d.plot, ("The chart; rows with a finding are ringed. " + (d.fit || "")).trim()) : el("p", {text: "There is no chart that could be drawn."})),
    el("h3", {text: "Calculation"}), (d.trail || []).length ? trail(d.trail) : el("p", {text: "No figure could be computed."}),
  ];
  if (d.asfound) parts.push(el("h3", {text: "The tube as it was found"}), trail(d.asfound));
  parts.push(el("h3", {text: "As the book gives it"}), rows(d.given || [], ["What", "As written", "Cell"]), el("h3", {text: "Sources"}), rows(d.sources || [], ["Kind", "Name", "Source", "Detail"]));
  box.replaceChildren(...parts.filter(p => p));
  box.removeAttribute("aria-busy");
}

function go() {
  const h = location.hash;
  if (h.startsWith("#tank/")) {
    const i = byLink.get(h);
    if (i !== undefined) { open(i); return; }
  }
  const was = opened;
  opened = -1;
  $("view-tank").hidden = true;
  $("view-list").hidden = false;
  document.title = "Tanks of " + D.name;
  if (h.startsWith("#list?")) readState(h.slice(6));
  render();
  if (was >= 0) {
    const row = $("tanks").querySelector('tr[data-tank="' + was + '"] a');
    if (row) row.focus(); else $("list").focus();
  } else if (h === "#list") {
    $("list").scrollIntoView();
  }
}

begin();
apply();
go();
document.documentElement.dataset.took = Math.round(began) + "+" + Math.round(performance.now() - began);
document.documentElement.dataset.ready = "yes";
})();
