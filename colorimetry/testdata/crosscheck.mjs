// Writes crosscheck_*.csv, random colours held against two general-purpose
// colour libraries. Copy it beside a node_modules with colorjs.io 0.7.1 and
// culori 4.0.2 and run: node crosscheck.mjs FOLDER
import Color from "colorjs.io";
import { converter } from "culori";
import { adapt } from "./node_modules/colorjs.io/src/CATs.js"; // not exported by name
import { writeFileSync } from "node:fs";

let state = 20240607n; // a linear congruential generator, so that runs repeat
const random = () => {
  state = (state * 6364136223846793005n + 1442695040888963407n) & 0xffffffffffffffffn;
  return Number(state >> 11n) / 2 ** 53;
};
const folder = process.argv[2] ?? ".";
const digits = (v) => (v === undefined || Number.isNaN(v) ? "nan" : Number(v.toPrecision(12)).toString());
function write(name, source, header, rows) {
  const lines = rows.map((r) => r.map(digits).join(","));
  writeFileSync(`${folder}/${name}`, `# ${source}\n${header}\n${lines.join("\n")}\n`);
}
// A third of the colours are dark, so that the straight part of L* is met.
const colour = (i) => [0.95, 1, 1.09].map((top) => random() * top * (i % 3 ? 1 : 0.02));
const to = (space, xyz) => Color.spaces["xyz-d65"].to(Color.spaces[space], xyz);

const spaces = [];
for (let i = 0; i < 600; i++) {
  const xyz = colour(i);
  const c = new Color("xyz-d65", xyz);
  spaces.push([...xyz, ...to("lab-d65", xyz), ...to("lab", xyz), ...to("luv", xyz), ...to("lchuv", xyz), ...c.uv, ...c.xy]);
}
write("crosscheck_colorjs.csv", "Random colours, D65 from x, y of four digits; lab50 after Bradford to D50. Source: colorjs.io 0.7.1, by crosscheck.mjs.",
  "X,Y,Z,L65,a65,b65,L50,a50,b50,L,u_star,v_star,L_uv,C_uv,h_uv,u_prime,v_prime,x,y", spaces);

const adapted = [];
for (let i = 0; i < 600; i++) {
  const xyz = colour(1);
  const white = () => { const x = 0.25 + random() * 0.2, y = 0.28 + random() * 0.15; return [x, y]; };
  const from = white(), into = white();
  const full = ([x, y]) => [x / y, 1, (1 - x - y) / y];
  const row = [...xyz, ...from, ...into];
  for (const method of ["Bradford", "CAT02", "CAT16", "von Kries"]) {
    const m = adapt(full(from), full(into), method);
    row.push(...m.map((r) => r[0] * xyz[0] + r[1] * xyz[1] + r[2] * xyz[2]));
  }
  adapted.push(row);
}
write("crosscheck_adaptation.csv", "Random colours adapted completely between random whites of Y = 1. Source: colorjs.io 0.7.1, by crosscheck.mjs.",
  "X,Y,Z,x_from,y_from,x_to,y_to,X_bradford,Y_bradford,Z_bradford,X_cat02,Y_cat02,Z_cat02,X_cat16,Y_cat16,Z_cat16,X_hpe,Y_hpe,Z_hpe", adapted);

const culori = [];
const [xyz50, lab, lch, luv, lchuv, lab65] = ["xyz50", "lab", "lch", "luv", "lchuv", "lab65"].map((m) => converter(m));
for (let i = 0; i < 600; i++) {
  const [x, y, z] = colour(i);
  const c = { mode: "xyz65", x, y, z };
  const d = xyz50(c), e = { mode: "xyz50", ...d };
  const p = lab(e), q = lch(p), u = luv(e), v = lchuv(u), w = lab65(c);
  culori.push([x, y, z, d.x, d.y, d.z, p.l, p.a, p.b, q.c, q.h, u.l, u.u, u.v, v.c, v.h, w.l, w.a, w.b]);
}
write("crosscheck_culori.csv", "Random colours: XYZ D65, adapted to D50 by Bradford, then CIELAB and CIELUV under D50, last CIELAB under D65. Source: culori 4.0.2, by crosscheck.mjs.",
  "X,Y,Z,X50,Y50,Z50,L,a,b,C,h,L_uv,u_star,v_star,C_uv,h_uv,L65,a65,b65", culori);
