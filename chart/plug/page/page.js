// The page of one run: it asks the program what to show, shows it, says when
// it was shown, and tells what stands between it and the eye.

import * as looks from "./looks.js";
import * as size from "./size.js";

const $ = (id) => document.getElementById(id);
const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
const lostAfter = 2000; // ms of failed requests until the page says so

let page = "";        // this load's name, given by the program
let seq = 0;          // counts reports
let view = null;      // what the program said last
let tables = null;    // the curves in force, looked up by code
let curves = "none";  // their name
let started = false;  // a person has started, and placed the instrument
let placing = false;  // the page is full-screen and waits for that
let shown = 0;        // number of the picture that stands there
let painted = "";     // its colour, and through which curves
let paintedBy = "none";
let drawing = 0;      // counts drawings, so that an overtaken one ends
let drawn = "";       // what the drawing under way is of
let checked = 0;      // the last question that was answered
let failing = 0;      // when requests began to fail, 0 = they do not
let lost = false, gone = false;

// ---- what the browser tells of display and window

function gamut() {
	for (const name of ["rec2020", "p3", "srgb"]) if (matchMedia(`(color-gamut: ${name})`).matches) return name;
	return "";
}

function now() {
	const told = typeof screen.isExtended === "boolean";
	return {
		width: screen.width, height: screen.height, left: screen.availLeft || 0, top: screen.availTop || 0,
		ratio: devicePixelRatio, extended: told ? (screen.isExtended ? "yes" : "no") : "", gamut: gamut(),
	};
}

const fullElement = () => document.fullscreenElement || document.webkitFullscreenElement || null;
const scale = () => (window.visualViewport ? visualViewport.scale : 1);

// troubles lists what is wrong, the worst first.
function troubles() {
	const list = [], is = now(), was = view && view.base;
	if (document.hidden) list.push("hidden");
	if (!fullElement()) list.push("full");
	if (Math.abs(scale() - 1) > 0.001) list.push("pinched");
	if (was) {
		if (is.width !== was.width || is.height !== was.height || is.left !== was.left || is.top !== was.top) list.push("moved");
		else if (is.ratio !== was.ratio) list.push("zoomed");
		if (is.extended !== was.extended) list.push("outputs");
		if (is.gamut !== was.gamut) list.push("profile");
	}
	const fits = [screen.width, screen.height].some((w) => Math.abs(innerWidth - w) <= 2);
	if (fullElement() && !fits && !list.includes("zoomed")) list.push("zoomed");
	return list;
}

const remedies = {
	hidden: "The page is hidden. Bring its tab to the front.",
	full: "The page does not fill the screen. Click Go on.",
	pinched: "The page is enlarged. Bring it back to its own size with two fingers.",
	zoomed: "The page is zoomed. Set the browser’s zoom back to what it was, mostly 100 % (Ctrl and 0, on a Mac Cmd and 0).",
	moved: "The page stands on another screen than at the start, or the screen was set to another size. Move it back to the display under test, or set that back.",
	outputs: "A screen was connected or taken away. Put the screens back as they were: the display must show its own desktop, no copy.",
	profile: "The browser takes the display for another than at the start: its profile was changed. Set it back, or open this address in a browser started with --force-color-profile=srgb.",
};

// ---- talking to the program

function report(kind, more) {
	const trouble = troubles();
	if (shown > 0) {
		// What stands there now, whoever changed it.
		painted = looks.painted();
		if (looks.covered(view)) trouble.push("covered");
	}
	return {
		kind, page, seq: ++seq, picture: shown, painted: painted.slice(0, 60), curves: paintedBy, check: checked, started,
		trouble, now: now(), scale: scale(), inner: innerWidth,
		wide: CSS.supports("color", "color(display-p3 1 0 0)"), ...more,
	};
}

// tell sends a report; what cannot be sent is told by the next.
async function tell(kind, more) {
	const body = JSON.stringify(report(kind, more));
	for (let i = 0; i < 5 && !gone; i++) {
		try {
			const answer = await fetch("tell", { method: "POST", headers: { "Content-Type": "application/json" }, body, cache: "no-store" });
			return answer.ok ? answer : null;
		} catch {
			await sleep(200 << i);
		}
	}
	return null;
}

async function listen() {
	for (;;) {
		try {
			if (!page) {
				const answer = await tell("hello");
				if (!answer) throw new Error("no hello");
				page = (await answer.json()).page;
			}
			const known = view ? view.n : -1;
			const answer = await fetch(`next?page=${page}&n=${known}&curves=${curves}`, { cache: "no-store", signal: AbortSignal.timeout(25000) });
			if (answer.status === 404) {
				gone = true;
				return render();
			}
			if (answer.status === 410) {
				page = "";
				if (view) view.n = -1; // a program that was begun again counts anew
				checked = 0;
				continue;
			}
			if (!answer.ok) throw new Error(`status ${answer.status}`);
			await take(await answer.json());
			if (view.phase === "finished") return;
			// A run that stopped may be begun again where it was.
			if (over()) await sleep(1000);
		} catch {
			await sleep(300);
			failing = failing || performance.now();
			if (performance.now() - failing > lostAfter && !lost) {
				lost = true;
				render();
			}
		}
	}
}

async function take(next) {
	failing = 0;
	lost = false;
	view = next;
	if (view.role === "owner" && view.curves !== curves) {
		tables = view.tables || null;
		curves = view.curves;
	}
	if (view.role === "owner" && !(view.perCM > 0) && view.diagonal > 0) sized(size.fromDiagonal(view.diagonal));
	render();
	if (view.role === "owner" && view.check > checked) answer(view.check);
}

// answer answers a question once a frame has begun: a page that is asleep
// stays silent.
async function answer(question) {
	if (!document.hidden) await new Promise(requestAnimationFrame);
	checked = Math.max(checked, question);
	tell("state");
}

// ---- what is to be seen

function mode() {
	if (gone) return "gone";
	if (!view) return lost ? "lost" : "opening";
	if (over()) return view.phase;
	if (lost) return "lost";
	if (view.role !== "owner") return view.role;
	if (view.phase === "hand-over") return "hand-over";
	if (!started) return placing && fullElement() ? "place" : "start";
	return troubles().length > 0 ? "trouble" : "run";
}

// over tells whether the program has said that nothing is shown any more.
const over = () => view.phase === "finished" || view.phase === "stopped";

function render() {
	const is = mode();
	if (view) {
		document.body.dataset.looking = view.looking ? "yes" : "no";
		document.body.dataset.timed = view.timed ? "yes" : "no";
		document.title = `Patches for ${view.display}`;
		for (const e of document.querySelectorAll(".display")) e.textContent = view.display;
		for (const e of document.querySelectorAll(".text")) e.textContent = view.text;
	}
	document.body.dataset.view = is;
	document.body.dataset.field = ["opening", "start", "place", "run"].includes(is) ? "light" : "dark";
	if (view && over() && fullElement()) leaveFull();
	if (is === "start") checklist();
	if (is === "place") {
		$("where").textContent = view.share > 0.6 ? "Put the instrument on the middle of the screen," : "Put the instrument inside the four corners,";
		looks.stage(view, view.perCM, true);
		looks.clear(view);
	}
	if (is === "trouble") list($("troubles"), troubles().map((t) => remedies[t]));
	if (is !== "run") {
		// Whatever stood there does so no more.
		drawing++;
		drawn = "";
		shown = 0;
	} else if (view.picture.id === 0) {
		looks.stage(view, view.perCM, false);
		looks.clear(view);
	} else {
		const want = `${view.picture.id} ${curves} ${innerWidth} ${innerHeight} ${devicePixelRatio}`;
		if (want !== drawn) {
			drawn = want;
			draw(view.picture.id);
		}
	}
}

async function draw(id) {
	const me = ++drawing;
	shown = 0;
	looks.stage(view, view.perCM, false);
	looks.paint(view, tables);
	const by = curves;
	await looks.frames();
	if (me !== drawing) return;
	[shown, paintedBy] = [id, by];
	tell("shown");
	while (me === drawing && looks.covered(view)) {
		await sleep(500);
		if (me === drawing) tell("shown");
	}
}

function list(where, texts) {
	where.replaceChildren(...texts.map((t) => {
		const item = document.createElement("li");
		item.textContent = t;
		return item;
	}));
}

// checklist tells how the page stands: a bar that is empty, half or full, and
// its word.
function checklist() {
	const is = now(), high = matchMedia("(dynamic-range: high)").matches;
	const rows = [
		["full screen", "empty", "not yet", "Start does it."],
		view.looking ? null : view.perCM > 0 ? ["size", "full", "known", `The field will be ${looks.words(looks.field(view.share, screen.width, screen.height), view.perCM)}.`] : ["size", "empty", "not given", ""],
		is.extended === "no" ? ["screens", "full", "one", ""]
			: ["screens", "half", is.extended === "yes" ? "several" : "not told", "See that this window stands on the display under test, and that no other screen shows a copy of it."],
		Number.isInteger(is.ratio) ? ["scale", "full", `${is.ratio} : 1`, ""]
			: ["scale", "half", `${is.ratio.toFixed(2)} : 1`, "If the browser is zoomed, set it to 100 %. Scaling by the system does no harm."],
		is.gamut === "srgb" ? ["colours", "full", "taken for sRGB", ""]
			: ["colours", "empty", "converted", `The browser takes this display to be wider than sRGB and converts the page’s colours. Switch that off first, by step ${view.looking ? 2 : 3}.`],
	].filter((row) => row);
	if (high) rows.push(["HDR", "empty", "on", "Switch HDR off for the run."]);
	if (view.base && troubles().includes("moved")) rows.push(["place", "empty", "another screen", remedies.moved]);
	$("checks").replaceChildren(...rows.map(([name, fill, word, text]) => {
		const item = document.createElement("li"), bar = document.createElement("span"), said = document.createElement("span");
		bar.className = "bar";
		bar.dataset.fill = fill;
		bar.append(document.createElement("i"));
		said.textContent = `${name}: ${word}`;
		if (text) {
			const small = document.createElement("small");
			small.textContent = text;
			said.append(small);
		}
		item.append(bar, said);
		return item;
	}));
	// Said once: what was refused meanwhile stands there longer than a moment.
	const told = $("size"), per = String(view.perCM);
	if (told.dataset.per !== per) told.textContent = view.perCM > 0 ? `One centimetre is ${view.perCM.toFixed(1)} pixels.` : "";
	told.dataset.per = per;
}

// ---- what a person does

async function full() {
	if (fullElement()) return true;
	const root = document.documentElement, ask = root.requestFullscreen || root.webkitRequestFullscreen;
	try {
		await ask.call(root, { navigationUI: "hide" });
	} catch {
		return false;
	}
	// The window takes a moment to its new size.
	await sleep(250);
	return fullElement() !== null;
}

function leaveFull() {
	const leave = document.exitFullscreen || document.webkitExitFullscreen;
	Promise.resolve(leave.call(document)).catch(() => {});
}

function sized(perCM) {
	view.perCM = perCM;
	delete $("size").dataset.per;
	tell("size", { perCM });
	if (mode() === "start") checklist();
}

// stayAwake asks the system to leave the display on, where it can be asked.
function stayAwake() {
	if (navigator.wakeLock && !document.hidden) navigator.wakeLock.request("screen").catch(() => {});
}

function begin() {
	placing = false;
	started = true;
	stayAwake();
	tell("started");
	render();
}

$("start").onclick = async () => {
	if (!(await full())) {
		$("refused").textContent = "The browser does not fill the screen. Click again, or use another browser.";
		return;
	}
	$("refused").textContent = "";
	// After a reload the instrument stands where it stood.
	if (view.looking || view.base) return begin();
	placing = true;
	render();
	$("placed").focus();
};
$("placed").onclick = begin;
$("mend").onclick = async () => {
	await full();
	changed();
};
$("take").onclick = () => tell("take");
$("done").onclick = async () => {
	await full();
	tell("done");
};
size.wire(sized);

document.addEventListener("keydown", (e) => {
	if (mode() !== "run" || !view.looking || e.repeat) return;
	const step = { ArrowRight: 1, PageDown: 1, " ": 1, Enter: 1, ArrowLeft: -1, PageUp: -1, q: 0 }[e.key];
	if (step === undefined) return;
	e.preventDefault();
	tell("step", { step });
});
$("stage").addEventListener("click", () => {
	if (mode() === "run" && view.looking) tell("step", { step: 1 });
});

// changed looks again at everything, and tells.
function changed() {
	render();
	if (page && started) tell("state");
}
document.addEventListener("fullscreenchange", changed);
document.addEventListener("webkitfullscreenchange", changed);
document.addEventListener("visibilitychange", () => {
	if (started) stayAwake();
	changed();
});
addEventListener("resize", changed);
if (window.visualViewport) visualViewport.addEventListener("resize", changed);
if (screen.addEventListener) screen.addEventListener("change", changed);
addEventListener("pagehide", () => {
	if (!page) return;
	navigator.sendBeacon("tell", new Blob([JSON.stringify(report("leave"))], { type: "application/json" }));
});
// It may come back as it was, from the browser's history.
addEventListener("pageshow", (e) => {
	if (e.persisted && page) tell("back");
});

listen();
