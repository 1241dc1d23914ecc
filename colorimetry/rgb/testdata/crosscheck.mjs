// Writes crosscheck_*.csv: random colours in the encodings of two
// general-purpose colour libraries. Copy it beside a node_modules with
// colorjs.io 0.7.1 and culori 4.0.2 and run: node crosscheck.mjs FOLDER
import Color from "colorjs.io";
import { converter } from "culori";
import { writeFileSync } from "node:fs";

let state = 20240608n; // a linear congruential generator, so that runs repeat
const random = () => {
  state = (state * 6364136223846793005n + 1442695040888963407n) & 0xffffffffffffffffn;
  return Number(state >> 11n) / 2 ** 53;
};
const folder = process.argv[2] ?? ".";
const digits = (v) => Number(v.toPrecision(12)).toString();
function write(name, source, header, rows) {
  writeFileSync(`${folder}/${name}`, `# ${source}\n${header}\n${rows.map((r) => r.map(digits).join(",")).join("\n")}\n`);
}
const columns = (names) => names.flatMap((n) => ["R", "G", "B"].map((c) => `${c}_${n}`)).join(",");

// Colours of sRGB's gamut, since it lies in all the others; a third are dark.
const ids = ["srgb", "p3", "a98rgb", "rec2020", "rec2100pq", "acescg"];
const js = [];
for (let i = 0; i < 520; i++) {
  const top = i % 3 ? 1 : 0.02;
  const xyz = Color.spaces["srgb-linear"].to(Color.spaces["xyz-d65"], [random() * top, random() * top, random() * top]);
  js.push([...xyz, ...ids.flatMap((id) => Color.spaces["xyz-d65"].to(Color.spaces[id], xyz))]);
}
write("crosscheck_colorjs.csv", "Random colours (D65, Y = 1) as signals; rec2020 by the power of 2.4, rec2100pq with Y = 1 at 203 cd/m2, acescg after Bradford. Source: colorjs.io 0.7.1, by crosscheck.mjs.",
  `X,Y,Z,${columns(ids)}`, js);

// Each encoding's own random signals as XYZ.
const modes = ["rgb", "p3", "a98", "prophoto"];
const xyz65 = converter("xyz65"), xyz50 = converter("xyz50");
const cu = [];
for (let i = 0; i < 520; i++) {
  const top = i % 3 ? 1 : 0.1;
  const [r, g, b] = [random() * top, random() * top, random() * top];
  cu.push([r, g, b, ...modes.flatMap((mode) => {
    const c = { mode, r, g, b };
    const v = mode === "prophoto" ? xyz50(c) : xyz65(c);
    return [v.x, v.y, v.z];
  })]);
}
write("crosscheck_culori.csv", "Random signals as XYZ in four encodings, the last under D50. Source: culori 4.0.2, by crosscheck.mjs.",
  `R,G,B,${modes.flatMap((n) => ["X", "Y", "Z"].map((c) => `${c}_${n}`)).join(",")}`, cu);
