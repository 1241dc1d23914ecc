package icc

import (
	"os"
	"path/filepath"
	"testing"
)

// BenchmarkParse reads all tags of the profiles that the comparison with Little
// CMS opens: BENCH_PROFILES is the folder where they lie.
func BenchmarkParse(b *testing.B) {
	dir := os.Getenv("BENCH_PROFILES")
	if dir == "" {
		b.Skip("BENCH_PROFILES names no folder")
	}
	for _, name := range []string{"p3g22.icc", "clut33.icc"} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Decode(data); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
