package hardware_test

import (
	"bytes"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/hardware"
)

// A table of 33 nodes an edge, of a model whose channels are independent and of
// one that learned what they do to each other from 175 readings.
func BenchmarkBuild33(b *testing.B) {
	readings := characterised(b, simulate.CoupledLCD, 1, 175)
	residual, err := fit.Residual(readings, nil, fit.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for _, m := range []fit.Model{additiveModel(b, readings), residual} {
		b.Run(m.Name(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				build(b, m, video, hardware.Options{Nodes: 33})
			}
		})
	}
}

func BenchmarkApply(b *testing.B) {
	table, _ := build(b, wide(b), video, hardware.Options{Nodes: 33})
	signals := randomSignals(1024, 1)
	var sum colorimetry.RGB
	b.ReportAllocs()
	for b.Loop() {
		for _, s := range signals {
			sum = table.Apply(s)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(signals)), "ns/colour")
	_ = sum
}

func BenchmarkCLF33(b *testing.B) {
	file := clf(b, hardware.Identity(33, 12))
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := hardware.ReadCLF(bytes.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}
