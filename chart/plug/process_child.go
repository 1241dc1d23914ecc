package plug

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"time"
)

const (
	drain  = 200 * time.Millisecond // for the last words of a program that ended
	reaped = 5 * time.Second        // for the system to take away what was killed
)

// child is one life of a program. One goroutine at a time uses it.
type child struct {
	cmd     *exec.Cmd
	in      io.WriteCloser
	events  chan event    // what it says, in order; the last one is an error
	gone    chan struct{} // closed when its standard output has ended
	stop    chan struct{} // closed by end
	words   *lastWords
	silent  chan struct{} // closed when its standard error has ended
	readers sync.WaitGroup

	id     int       // of the last message sent
	now    time.Time // of its own clock, as its last answer had it
	owed   int       // id of a message whose answer nobody waits for any more; 0 = none
	expiry time.Time // by when the owed answer has to be there
}

// event is a line of the program, or why there are no more.
type event struct {
	line []byte
	err  error
}

// launch starts a program.
func launch(c Command) (*child, error) {
	cmd := exec.Command(c.Path, c.Args...)
	apart(cmd)
	in, err1 := cmd.StdinPipe()
	out, err2 := cmd.StdoutPipe()
	errs, err3 := cmd.StderrPipe()
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	k := &child{
		cmd: cmd, in: in, words: &lastWords{}, events: make(chan event),
		gone: make(chan struct{}), stop: make(chan struct{}), silent: make(chan struct{}),
	}
	k.readers.Go(func() { k.listen(out) })
	k.readers.Go(func() { defer close(k.silent); k.words.keep(errs) })
	return k, nil
}

// listen hands on what the program says, line by line, until it ends or says
// too much at once. It reads on only when a line was taken.
func (k *child) listen(out io.Reader) {
	r := bufio.NewReaderSize(out, 64<<10)
	for {
		line, err := readLine(r)
		if err != nil {
			close(k.gone)
		}
		select {
		case k.events <- event{line, err}:
		case <-k.stop:
			return
		}
		if err != nil {
			return
		}
	}
}

// readLine reads up to a newline, at most maxLine bytes. What is not ended by a
// newline is no line: an error quotes it.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > maxLine:
			return nil, broken(line, "a line of more than %d bytes", maxLine)
		case err == nil:
			return line[:len(line)-1], nil
		case errors.Is(err, bufio.ErrBufferFull):
		case len(line) > 0:
			torn := broken(line, "it ended in the middle of a line")
			torn.torn = true
			return nil, torn
		default:
			return nil, errEnded
		}
	}
}

// errEnded says that a program's standard output came to its end.
var errEnded = errors.New("it ended or closed its standard output")

// endOfOutput reports whether err says that a program's standard output came to
// its end.
func endOfOutput(err error) bool {
	var form *ProtocolError
	return errors.Is(err, errEnded) || errors.As(err, &form) && form.torn
}

// errLate says that the time of a message was over.
var errLate = errors.New("late")

// send writes a message's line. The program may not read it: the write goes on
// by itself then, until the program ends. The channel tells how it went.
func (k *child) send(line []byte) <-chan error {
	wrote := make(chan error, 1)
	k.readers.Go(func() {
		_, err := k.in.Write(line)
		wrote <- err
	})
	return wrote
}

// receive waits for the answer with an id; sentences for people go to say. It
// returns errLate where the time is over, a *ProtocolError where the program
// says something else, errEnded where it ended, or the error of ctx.
func (k *child) receive(ctx context.Context, id int, late <-chan time.Time, say func(string)) (answer, []byte, error) {
	said := 0
	for {
		var e event
		select {
		case e = <-k.events:
		case <-ctx.Done():
			return answer{}, nil, ctx.Err()
		case <-late:
			return answer{}, nil, errLate
		}
		if e.err != nil {
			return answer{}, nil, e.err
		}
		a, err := decodeAnswer(e.line)
		switch {
		case err != nil:
			return answer{}, nil, err
		case *a.ID != id:
			return answer{}, nil, broken(e.line, "it answered message %d, and message %d was asked", *a.ID, id)
		case a.Say == nil:
			return a, e.line, nil
		}
		if said++; said > maxSays {
			return answer{}, nil, broken(e.line, "more than %d sentences within one message", maxSays)
		}
		say(plain(*a.Say))
	}
}

// settleDebt waits for the answer of a message that nobody waits for any more,
// so that the device never sees two at once, and drops it.
func (k *child) settleDebt(ctx context.Context) error {
	if k.owed == 0 {
		return nil
	}
	late := time.NewTimer(time.Until(k.expiry))
	defer late.Stop()
	a, _, err := k.receive(ctx, k.owed, late.C, func(string) {})
	if err == nil {
		k.owed = 0
		if a.Now != nil {
			k.now = a.Now.Round(0).UTC()
		}
	}
	return err
}

// lives reports whether the program's standard output is open still.
func (k *child) lives() bool {
	select {
	case <-k.gone:
		return false
	default:
		return true
	}
}

// end closes the program's standard input, gives it some time to end by itself,
// then ends it and all that it started. It returns how the program ended, and
// leaves no goroutine behind but where the system cannot end the program.
func (k *child) end(patience time.Duration) string {
	k.in.Close()
	t := time.NewTimer(patience)
	defer t.Stop()
	for open := true; open && k.lives(); {
		select {
		case <-k.events: // of no use any more
		case <-k.gone:
		case <-t.C:
			open = false
		}
	}
	if !k.lives() { // it may have words left
		select {
		case <-k.silent:
		case <-time.After(drain):
		}
	}
	killGroup(k.cmd)
	close(k.stop)
	waited := make(chan error, 1)
	go func() { waited <- k.cmd.Wait() }()
	select {
	case err := <-waited:
		k.readers.Wait()
		if err == nil {
			return "exit status 0"
		}
		return err.Error()
	case <-time.After(reaped):
		return "it cannot be ended: unplug the device"
	}
}

// lastWords keeps the end of what a program writes on its standard error.
type lastWords struct {
	mu    sync.Mutex
	lines []string
}

const (
	keptLines = 8
	keptBytes = 200 // of a line
)

// keep reads until the end.
func (w *lastWords) keep(r io.Reader) {
	in := bufio.NewReaderSize(r, 4096)
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		if room := keptBytes + 1 - len(line); room > 0 {
			line = append(line, part[:min(room, len(part))]...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		w.add(line)
		line = line[:0]
		if err != nil {
			return
		}
	}
}

func (w *lastWords) add(line []byte) {
	text := strings.TrimRight(string(line), "\r\n")
	if text == "" {
		return
	}
	if len(text) > keptBytes {
		text = text[:keptBytes] + "…"
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.lines = append(w.lines, text); len(w.lines) > keptLines {
		w.lines = w.lines[1:]
	}
}

// String returns the lines, escaped, "" where there are none.
func (w *lastWords) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.lines) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("its last words on standard error: ")
	for i, l := range w.lines {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(strconv.QuoteToGraphic(l))
	}
	return b.String()
}
