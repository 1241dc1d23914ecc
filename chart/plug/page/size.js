// The display's size: from its diagonal, or from a bank card held against the
// page. ISO/IEC 7810 has the card 85.60 mm wide.

const $ = (id) => document.getElementById(id);
const card = 8.56;

// wire calls done with the CSS pixels of a centimetre when a person has said
// how large the display is.
export function wire(done) {
	$("sized").onclick = () => {
		const cm = Number($("diagonal").value) * Number($("unit").value);
		if (cm >= 5 && cm <= 2000) done(fromDiagonal(cm));
		else $("size").textContent = "Give the diagonal as a number, from 5 cm (2 inches) to 20 m.";
	};
	$("diagonal").onkeydown = (e) => { if (e.key === "Enter") $("sized").click(); };
	const slider = $("slider");
	const line = () => { $("card").style.width = `${slider.value}px`; };
	slider.value = 324;
	line();
	slider.oninput = line;
	slider.onchange = () => done(slider.value / card);
}

// fromDiagonal returns the CSS pixels of a centimetre.
export function fromDiagonal(cm) {
	return Math.hypot(screen.width, screen.height) / cm;
}
