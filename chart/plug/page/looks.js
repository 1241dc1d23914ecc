// What stands on the stage: the window, its surround, the four corners, and
// pictures of several fields. Edges fall on whole pixels of the display.

const $ = (id) => document.getElementById(id);
const css = (rgb) => `rgb(${rgb[0]}, ${rgb[1]}, ${rgb[2]})`;

// ink returns a code that can be made out against another without lighting up
// the room.
const ink = (code) => (code < 128 ? code + 56 : code - 56);
const grey = (code) => css([code, code, code]);

// whole returns a length in CSS pixels that is a whole number of the display's.
const whole = (px) => Math.round(px * devicePixelRatio) / devicePixelRatio;

function lay(element, x, y, w, h) {
	const left = whole(x), top = whole(y);
	element.style.left = `${left}px`;
	element.style.top = `${top}px`;
	element.style.width = `${whole(x + w) - left}px`;
	element.style.height = `${whole(y + h) - top}px`;
}

// field returns the window's place: a square in the middle, as long as the
// screen is high enough for it, then as high as the screen.
export function field(share, w = innerWidth, h = innerHeight) {
	if (share >= 1) return { x: 0, y: 0, w, h };
	const side = Math.sqrt(share * w * h);
	const high = Math.min(side, h), wide = Math.min((share * w * h) / high, w);
	const tall = (share * w * h) / wide;
	return { x: (w - wide) / 2, y: (h - tall) / 2, w: wide, h: tall };
}

// through returns the code that leaves the curves when rgb enters them.
function through(rgb, tables) {
	return tables ? rgb.map((v, i) => tables[i][v]) : rgb;
}

// words tells the field's size.
export function words(at, perCM) {
	const px = `${Math.round(at.w * devicePixelRatio)} × ${Math.round(at.h * devicePixelRatio)} pixels`;
	if (!(perCM > 0)) return `${px}; size in cm not given`;
	return `${(at.w / perCM).toFixed(1)} × ${(at.h / perCM).toFixed(1)} cm`;
}

// stage lays the window, its surround and, unless the window is the whole
// screen, its corners and its size.
export function stage(view, perCM, placing) {
	const at = field(view.share), corners = view.share < 1 || placing;
	const outside = view.share < 1 ? view.surround : 0;
	// While the instrument is placed, the marks may be bright.
	const mark = placing ? grey(outside < 128 ? 200 : 40) : grey(ink(outside));
	$("stage").style.backgroundColor = grey(view.surround);
	lay($("window"), at.x, at.y, at.w, at.h);
	const edge = view.share < 1 ? 3 : -3, long = 26;
	for (const tick of document.querySelectorAll(".tick")) {
		const left = tick.dataset.at[0] === "l", top = tick.dataset.at[1] === "t";
		tick.hidden = !corners || view.picture.fields !== undefined;
		tick.style.display = tick.hidden ? "none" : "block";
		lay(tick, left ? at.x - edge : at.x + at.w + edge - long, top ? at.y - edge : at.y + at.h + edge - long, long, long);
		tick.style.borderColor = mark;
		tick.style.borderWidth = `${top ? 2 : 0}px ${left ? 0 : 2}px ${top ? 0 : 2}px ${left ? 2 : 0}px`;
	}
	const label = $("measure"), inside = at.y + at.h + 40 > innerHeight;
	// A size that nobody gave is missed while the instrument is placed, not later.
	label.style.display = corners && view.picture.fields === undefined && (perCM > 0 || placing) ? "block" : "none";
	label.textContent = words(at, perCM);
	label.style.color = mark;
	label.style.left = `${whole(inside ? at.x + 14 : at.x - 3)}px`;
	label.style.top = `${whole(inside ? at.y + 14 : at.y + at.h + 12)}px`;
	if (inside && view.share < 1 && !placing) label.style.display = "none";
}

// clear empties the window, for placing: it has the surround's colour.
export function clear(view) {
	drop();
	$("window").style.background = grey(view.share < 1 ? view.surround : 0);
}

function drop() {
	for (const old of document.querySelectorAll(".field, .label")) old.remove();
}

// paint puts the picture on the stage.
export function paint(view, tables) {
	drop();
	const picture = view.picture, main = $("window");
	main.style.background = picture.wide ? `color(display-p3 ${picture.wide.join(" ")})` : css(through(picture.rgb, tables));
	if (!picture.fields) return;
	for (const [i, f] of picture.fields.entries()) {
		const box = i === 0 ? main : document.createElement("div");
		lay(box, f.x * innerWidth, f.y * innerHeight, f.w * innerWidth, f.h * innerHeight);
		if (i > 0) {
			box.className = "field";
			box.style.background = css(through(f.rgb, tables));
			$("stage").append(box);
		}
		if (f.label) {
			const label = document.createElement("span");
			label.className = "label";
			label.textContent = f.label;
			label.style.color = grey(ink(Math.max(...f.rgb)));
			label.style.left = `${whole(f.x * innerWidth + 8)}px`;
			label.style.top = `${whole((f.y + f.h) * innerHeight - 24)}px`;
			$("stage").append(label);
		}
	}
}

// painted returns the window's colour as the browser computed it.
export function painted() {
	return getComputedStyle($("window")).backgroundColor;
}

// covered tells whether something lies over the middle of the window, or the
// window is not where it was laid.
export function covered(view) {
	const top = document.elementFromPoint(innerWidth / 2, innerHeight / 2);
	if (view.picture.fields) return !$("stage").contains(top);
	const at = field(view.share), is = $("window").getBoundingClientRect();
	const off = Math.max(Math.abs(is.left - at.x), Math.abs(is.top - at.y), Math.abs(is.width - at.w), Math.abs(is.height - at.h));
	return top !== $("window") || off > 2;
}

// frames returns once two frames have begun after what was painted: by the
// second, the first is on its way to the display.
export async function frames() {
	$("stage").getBoundingClientRect();
	for (let i = 0; i < 2; i++) await new Promise(requestAnimationFrame);
}
