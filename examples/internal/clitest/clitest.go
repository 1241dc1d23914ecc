// Package clitest runs the programs of the examples inside their tests.
package clitest

import (
	"bytes"
	"context"
	"strings"

	"example.org/primaries/examples/internal/cli"
)

// Call runs a program with in on standard input. It returns what went to
// standard output, what went to standard error with the error behind it, and
// the exit status.
func Call(run func(context.Context, []string, cli.IO) error, in string, args ...string) (out, errs string, status int) {
	var o, e bytes.Buffer
	err := run(context.Background(), args, cli.IO{In: strings.NewReader(in), Out: &o, Err: &e})
	if err != nil {
		e.WriteString(err.Error())
	}
	return o.String(), e.String(), cli.Status(err)
}
