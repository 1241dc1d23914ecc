// Writes crosscheck.csv: random signals and light through the curves of two
// general-purpose colour libraries. Copy it beside a node_modules with
// colorjs.io 0.7.1 and culori 4.0.2 and run: node crosscheck.mjs FOLDER
import Color from "colorjs.io";
import { convertLrgbToRgb, convertRgbToLrgb } from "culori";
import { writeFileSync } from "node:fs";

let state = 20240609n; // a linear congruential generator, so that runs repeat
const random = () => {
  state = (state * 6364136223846793005n + 1442695040888963407n) & 0xffffffffffffffffn;
  return Number(state >> 11n) / 2 ** 53;
};
// The curve of an encoding is what lies between it and the linear one below.
const light = (id, v) => Color.spaces[id].toBase([v, v, v])[0];
const signal = (id, v) => Color.spaces[id].fromBase([v, v, v])[0];
const ids = ["srgb", "a98rgb", "prophoto", "rec2020", "--rec2020-oetf", "rec2100pq", "rec2100hlg"];
const names = ["srgb", "adobe", "romm", "bt1886", "bt2020", "pq", "hlg"];
const rows = [];
for (let i = 0; i < 520; i++) {
  const v = random() * (i % 3 ? 1 : 0.03); // a third of them dark
  rows.push([v,
    ...ids.map((id) => light(id, v)), ...ids.map((id) => signal(id, v)),
    convertRgbToLrgb({ mode: "rgb", r: v, g: v, b: v }).r, convertLrgbToRgb({ mode: "lrgb", r: v, g: v, b: v }).r,
    Color.spaces["xyz-d65"].to(Color.spaces["lab-d65"], [0, v, 0])[0],
  ]);
}
const header = ["v", ...names.map((n) => `light_${n}`), ...names.map((n) => `signal_${n}`), "light_srgb_culori", "signal_srgb_culori", "lstar"];
const text = rows.map((r) => r.map((v) => Number(v.toPrecision(12)).toString()).join(",")).join("\n");
writeFileSync(`${process.argv[2] ?? "."}/crosscheck.csv`, `# Light of the signal v and signal of the light v; pq with light 1 at 203 cd/m2, hlg with light 1 at the scale of its 75 % signal, lstar of Y = v. Source: colorjs.io 0.7.1 and, where named, culori 4.0.2, by crosscheck.mjs.\n${header.join(",")}\n${text}\n`);
