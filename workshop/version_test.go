package workshop

import "testing"

func TestVersionText(t *testing.T) {
	for _, c := range []struct {
		version, revision string
		changed           bool
		want              string
	}{
		{"v1.2.0", "8c3f0a1b2c3d", false, "v1.2.0 (8c3f0a1b2c3d)"},
		{"(devel)", "8c3f0a1b2c3d", true, "8c3f0a1b2c3d, changed since"},
		{"v1.2.0", "", false, "v1.2.0"},
		{"(devel)", "", false, "built from a source without a revision"},
	} {
		if got := versionText(c.version, c.revision, c.changed); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
