package notices

import (
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the notices from what is in the program")

// licences tell from a licence's own words which it is (names: SPDX licence list).
var licences = []struct{ words, id string }{
	{"Apache License", "Apache-2.0"},
	{"SIL OPEN FONT LICENSE", "OFL-1.1"},
	{"Mozilla Public License", "MPL-2.0"},
	{"Permission is hereby granted, free of charge", "MIT"},
	{"This is free and unencumbered software", "Unlicense"},
	{"CC0", "CC0-1.0"},
	{"Neither the name of", "BSD-3-Clause"},
	{"names of its\ncontributors may be used", "BSD-3-Clause"},
	{"Redistribution and use in source and binary forms", "BSD-2-Clause"},
}

func licenceOf(text string) string {
	for _, l := range licences {
		if strings.Contains(text, l.words) {
			return l.id
		}
	}
	return ""
}

// module is what the go command says of one.
type module struct {
	Path, Version, Dir string
	Main               bool
}

// modules are those in the program, on every system that it is made for.
func modules(t *testing.T) []module {
	t.Helper()
	found := map[string]module{}
	for _, system := range []string{"linux", "darwin", "windows"} {
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}} {{.Version}} {{.Main}} {{.Dir}}{{end}}",
			"../cmd/rollwright")
		cmd.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		out, err := cmd.Output()
		if err != nil {
			t.Skipf("the go command does not list the modules: %v", err)
		}
		for line := range strings.Lines(string(out)) {
			if f := strings.Fields(line); len(f) == 4 && f[2] == "false" {
				found[f[0]] = module{Path: f[0], Version: f[1], Dir: f[3]}
			}
		}
	}
	var list []module
	for _, m := range found {
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b module) int { return strings.Compare(a.Path, b.Path) })
	return list
}

// textIn is the text of the licence in a folder, with the notice that goes with it.
func textIn(t *testing.T, folder string) string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		if e.IsDir() || !strings.HasPrefix(name, "LICEN") && !strings.HasPrefix(name, "COPYING") &&
			!strings.HasPrefix(name, "UNLICENSE") && !strings.HasPrefix(name, "NOTICE") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, strings.ReplaceAll(string(text), "\r\n", "\n"))
	}
	return strings.Join(all, "\n\n")
}

// fonts are the files of fonts, with the text that says what each is made from.
var fonts = map[string][]string{
	"../draw/typeface/fonts/LICENSE-serif.txt": {"serif.ttf", "serif-italic.ttf"},
	"../draw/typeface/fonts/LICENSE-sans.txt":  {"sans.ttf", "sans-bold.ttf"},
	"../draw/typeface/fonts/LICENSE-music.txt": {"music.ttf"},
	"../web/page/fonts/LICENSE-mono.txt":       {"mono.woff", "mono-bold.woff"},
}

// wanted are the notices of everything that is in the program.
func wanted(t *testing.T) []Notice {
	t.Helper()
	list := []Notice{{"Go " + strings.TrimPrefix(goVersion(t), "go"), "BSD-3-Clause", "https://go.dev",
		textIn(t, goSays(t, "env", "GOROOT"))}}
	for _, m := range modules(t) {
		text := textIn(t, m.Dir)
		list = append(list, Notice{m.Path + " " + m.Version, licenceOf(text), "https://pkg.go.dev/" + m.Path + "@" + m.Version,
			text})
	}
	for path, files := range fonts {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		from := "https://www.npmjs.com/package/" + map[string]string{
			"LICENSE-serif.txt": "@fontsource/source-serif-4", "LICENSE-sans.txt": "@fontsource/ibm-plex-sans",
			"LICENSE-mono.txt": "@fontsource/ibm-plex-mono", "LICENSE-music.txt": "@vexflow-fonts/bravura",
		}[filepath.Base(path)]
		list = append(list, Notice{"fonts " + strings.Join(files, ", "), licenceOf(string(text)), from, string(text)})
	}
	page, err := os.ReadFile("../web/page/NOTICES.txt")
	if err != nil {
		t.Fatal(err)
	}
	list = append(list, Notice{"packages in the scripts of the workbench's page", "MIT", "https://www.npmjs.com", string(page)})
	slices.SortFunc(list, func(a, b Notice) int { return strings.Compare(a.Name, b.Name) })
	return list
}

// goVersion is the language's version that go.mod names: the notice does not
// change with the compiler at hand.
func goVersion(t *testing.T) string {
	t.Helper()
	t.Helper()
	return goSays(t, "list", "-m", "-f", "{{.GoVersion}}", "rollwright")
}

// goSays is a line that the go command prints.
func goSays(t *testing.T, args ...string) string {
	t.Helper()
	out, err := exec.Command("go", args...).Output()
	if err != nil {
		t.Skipf("the go command says nothing: %v", err)
	}
	return strings.TrimSpace(string(out))
}

// TestNoneLacks holds the notices to what is in the program: every module of every
// system, every font, the packages of the page; each with a licence that is known,
// a source, and the text that came with it.
func TestNoneLacks(t *testing.T) {
	want := wanted(t)
	if *update {
		must(t, os.RemoveAll("texts"))
		must(t, os.Mkdir("texts", 0o755))
		for i, n := range want {
			must(t, os.WriteFile(fmt.Sprintf("texts/%02d.txt", i+1), []byte(n.file()), 0o644))
		}
		return
	}
	have := List()
	for _, n := range want {
		if n.Licence == "" || len(n.Text) < 100 {
			t.Errorf("%s has no licence that is known", n.Name)
		}
		if !slices.Contains(have, n) {
			t.Errorf("no notice of %s as it is now: go test ./notices -update, and read the difference", n.Name)
		}
	}
	if len(have) != len(want) {
		t.Errorf("%d notices, of %d works", len(have), len(want))
	}
}

// TestFonts: no font file lies in the repository without a text beside it.
func TestFonts(t *testing.T) {
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || d.Name() == ".git" || d.Name() == "dist") {
			return fs.SkipDir
		}
		switch filepath.Ext(path) {
		case ".ttf", ".otf", ".woff", ".woff2", ".sf2":
		default:
			return nil
		}
		known := false
		for text, files := range fonts {
			if filepath.Dir(text) == filepath.Dir(path) && slices.Contains(files, d.Name()) {
				known = true
			}
		}
		if !known {
			t.Errorf("%s has no licence and no source", path)
		}
		return nil
	})
	must(t, err)
}

// TestPagePackages: every package that is bundled into the page stands in its
// notices, with its version (web/page/package-lock.json says which are).
func TestPagePackages(t *testing.T) {
	text, err := os.ReadFile("../web/page/package-lock.json")
	must(t, err)
	var lock struct {
		Packages map[string]struct {
			Version string
			Dev     bool
		}
	}
	must(t, json.Unmarshal(text, &lock))
	notices, err := os.ReadFile("../web/page/NOTICES.txt")
	must(t, err)
	n := 0
	for path, p := range lock.Packages {
		name := strings.TrimPrefix(path, "node_modules/")
		if path == "" || p.Dev {
			continue
		}
		n++
		if !strings.Contains(string(notices), "\n"+name+" "+p.Version+"\n") {
			t.Errorf("%s %s is not in the notices of the page", name, p.Version)
		}
	}
	if n < 3 {
		t.Errorf("only %d packages", n)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
