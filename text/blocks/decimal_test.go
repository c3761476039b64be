package blocks

import "testing"

func TestPointForComma(t *testing.T) {
	for _, c := range []struct {
		text, want string
		ok         bool
	}{
		{"92,5", "92.5", true}, {"2,5 s", "2.5 s", true}, {"0,8 1 0,25", "0.8 1 0.25", true}, {"21,5/20,5", "21.5/20.5", true},
		{"92.5", "92.5", false}, {"1, 2", "1, 2", false}, {"C4, D4", "C4, D4", false}, {"", "", false},
		{"1,234.5", "", false}, {"1,2,3", "", false}, // which sign is the point?
	} {
		got, ok := PointForComma(c.text)
		if ok != c.ok || ok && got != c.want {
			t.Errorf("%q: %q, %v; want %q, %v", c.text, got, ok, c.want, c.ok)
		}
	}
}
