package main

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
)

// writeCSV writes a line for each display, number of readings, model and region.
// A model that was never fitted has no figures, and only the choice has lapses.
func (o *options) writeCSV(w io.Writer, results []result) error {
	out := csv.NewWriter(w)
	out.Write([]string{"set", "averages", "seeds", "display", "readings", "patches", "model", "failed", "lapses", "region", "count",
		"mean_dE00", "p95_dE00", "max_dE00", "mean_dEab", "p95_dEab", "max_dEab",
		"truth_components", "truth_jointly", "reading_components", "reading_jointly"})
	for _, r := range results {
		for _, m := range r.Models {
			lapses := ""
			if m.Name == choice && r.Lapses != nil {
				lapses = strconv.Itoa(*r.Lapses)
			}
			for _, region := range regionNames {
				f, ok := m.Regions[region]
				line := []string{o.set, strconv.Itoa(o.averages), strconv.Itoa(o.seeds), r.Display, strconv.Itoa(r.Readings),
					strconv.Itoa(r.Patches), m.Name, strconv.Itoa(m.Failed), lapses, region, strconv.Itoa(f.Count)}
				for _, v := range f.fields() {
					text := ""
					if ok {
						text = strconv.FormatFloat(*v, 'f', 4, 64)
					}
					line = append(line, text)
				}
				out.Write(line)
			}
		}
	}
	out.Flush()
	return out.Error()
}

// writeJSON writes everything.
func (o *options) writeJSON(w io.Writer, results []result) error {
	type display struct {
		Key    string  `json:"display"`
		Name   string  `json:"name"`
		Origin string  `json:"origin"`
		Mean   float64 `json:"plain_matrix_mean_dE00"`
		Max    float64 `json:"plain_matrix_max_dE00"`
	}
	var list []display
	for _, r := range results {
		if g := r.ground; len(list) == 0 || list[len(list)-1].Key != g.key {
			list = append(list, display{g.key, g.name, g.origin, g.matrix.Mean, g.matrix.Max})
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(struct {
		Set      string    `json:"set"`
		Averages int       `json:"averages"`
		Seeds    int       `json:"seeds"`
		Displays []display `json:"displays"`
		Cells    []result  `json:"cells"`
	}{o.set, o.averages, o.seeds, list, results})
}
