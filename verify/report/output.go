package report

import (
	"io"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/hardware"
	"example.org/primaries/verify/history"
)

// LastFile is the file that Output lists last: where it lies, a run is
// finished.
const LastFile = "report.json"

// File is one file of a run's results.
type File struct {
	Name  string
	Write func(io.Writer) error
}

// tableFile is the file of a run's table for the display or a box.
const tableFile = "table.clf"

// Output lists the files of a run's results in the order in which they should
// be written: the profile; the table for the display or a box, as Common LUT
// Format and CSV, and the correction of the instrument, where the run made them;
// the readings in the state that the profile describes, as CGATS.17 and CSV; the
// curves; the figures as CSV; the report as HTML and, last, as JSON. It fills
// r.Files.
func (r *Report) Output(run *characterise.Result) []File {
	table := characterise.Table(run, run.InState())
	files := []File{
		{run.Profile.FileName, func(w io.Writer) error { _, err := w.Write(run.Profile.Bytes); return err }},
	}
	if t := run.HardwareTable; t != nil {
		files = append(files,
			File{tableFile, func(w io.Writer) error { return hardware.WriteCLF(w, t.Table) }},
			File{"table.csv", func(w io.Writer) error { return hardware.WriteCSV(w, t.Table) }})
	}
	if run.Saved != nil {
		files = append(files, File{"correction.json", run.Saved.Write})
	}
	files = append(files,
		File{"readings.cgats.txt", func(w io.Writer) error { return chart.WriteCGATS(w, table, chart.WriteOptions{}) }},
		File{"readings.csv", func(w io.Writer) error { return chart.WriteCSV(w, table, chart.WriteOptions{}) }})
	if run.InForce.Len() > 0 {
		files = append(files, File{"curves.csv", func(w io.Writer) error { return tone.WriteCSV(w, run.InForce) }})
	}
	files = append(files,
		File{"figures.csv", func(w io.Writer) error { return WriteCSV(w, r) }},
		File{"report.html", func(w io.Writer) error { return WriteHTML(w, r) }},
		File{LastFile, func(w io.Writer) error { return WriteJSON(w, r) }})
	r.Files = nil
	for _, f := range files {
		r.Files = append(r.Files, f.Name)
	}
	return files
}

// Remember adds the run to the history file at path, unless it is there
// already, and says in r how the display changed since the run before and when
// to look again.
func (r *Report) Remember(path string) error {
	e := r.entry()
	earlier, _, err := history.Append(path, e)
	if err != nil {
		return err
	}
	r.History = &Comparison{Look: history.NextLook(earlier, e)}
	if change, ok := history.Compare(earlier, e); ok {
		r.History.Change = &change
	}
	r.Conclude()
	return nil
}

// entry returns the history's line for the run.
func (r *Report) entry() history.Entry {
	e := history.Entry{
		Version: history.Version, Run: r.Run.ID, Time: r.Run.Start, Display: r.Display.Name, Mode: r.Display.Mode,
		Instrument: r.Instrument.Name, Serial: r.Instrument.Serial, Aim: r.Aim.Name, Profile: r.Profile,
		WhiteX: r.White.X, WhiteY: r.White.Y, WhiteSpreadUV: r.White.RepeatUV, WhiteDeltaUV: r.White.DeltaUV,
		LuminanceCdM2: r.LuminanceCdM2, BlackCdM2: r.BlackCdM2,
		ProfileAccuracy: history.FiguresOf(r.ProfileAccuracy.Relative),
	}
	if r.LuminanceCdM2 > 0 {
		e.LuminanceSpread = r.LuminanceSpreadCdM2 / r.LuminanceCdM2
	}
	if a := r.AimAccuracy.Before; a != nil {
		e.AimBefore = history.FiguresOf(*a)
	}
	if a := r.AimAccuracy.After; a != nil {
		e.AimAfter = history.FiguresOf(*a)
	}
	return e
}
