package choice_test

import (
	"errors"
	"fmt"
	"io"
	"testing"

	"rollwright/text/choice"
)

func Example() {
	err := fmt.Errorf("lag: %w", choice.Errorf("the piece has %d voices; choose two with {pair}", 5))
	fmt.Println(choice.Say(err, func(option string) string { return "--" + option }))
	fmt.Println(err)
	// Output:
	// lag: the piece has 5 voices; choose two with --pair
	// lag: the piece has 5 voices; choose two with pair
}

// Braces that are no option's stay, an error without options keeps its text, and
// what was wrapped is found.
func TestSay(t *testing.T) {
	flag := func(option string) string { return "--" + option }
	for _, c := range []struct {
		err  error
		want string
	}{
		{errors.New("plain {pair}"), "plain {pair}"},
		{choice.Errorf("say {paper-along} or {}, not {A1}"), "say --paper-along or {}, not {A1}"},
		{fmt.Errorf("a: %w", fmt.Errorf("b: %w", choice.Errorf("name it {spool}"))), "a: b: name it --spool"},
	} {
		if got := choice.Say(c.err, flag); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if err := choice.Errorf("{from}: %w", io.EOF); !errors.Is(err, io.EOF) {
		t.Error("the wrapped error is lost")
	}
}
