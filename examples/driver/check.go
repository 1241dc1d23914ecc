package main

import (
	"context"
	"fmt"

	"example.org/primaries/chart/plug"
	"example.org/primaries/examples/internal/cli"
)

// check holds a command against the protocol.
func check(ctx context.Context, command string, person bool, std cli.IO) error {
	c, err := plug.ParseCommand(command)
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	options := plug.ConformOptions{Person: person}
	options.Say = func(sentence string) { fmt.Fprintln(std.Err, sentence) }
	report, err := plug.Conform(ctx, c, options)
	if err != nil {
		return err
	}
	if err := report.WriteText(std.Out); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the report: %w", err))
	}
	if !report.Passed() {
		return cli.Give(cli.Failed, fmt.Errorf("%s does not keep to protocol %d", c, plug.ProtocolVersion))
	}
	return nil
}
