module example.org/primaries

go 1.25.0

require (
	github.com/google/go-cmp v0.7.0
	golang.org/x/image v0.42.0
	gonum.org/v1/gonum v0.17.0
)
