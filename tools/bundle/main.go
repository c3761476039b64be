// Bundle makes the page's sources into the files that the workbench serves, and the
// engine of the lecture's page, which is this program's own reckoning for a browser.
//
// Run it in this module, whose neighbours are the folders of packages web and telling:
//
//	go run ./bundle          writes ../web/dist and ../telling/show/engine
//	go run ./bundle -check   fails when either is not current
//	go run ./bundle -engine  the same of the engine alone, which needs no npm
//
// It needs what `npm ci` puts into web/page/node_modules. Types are not
// checked: that is `npm run check` in web/page.
package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// mostGzipped is what a browser may have to fetch for the scripts and the style.
const mostGzipped = 300_000

func main() {
	check := flag.Bool("check", false, "compare with what is there instead of writing it")
	engine := flag.Bool("engine", false, "only the engine")
	flag.Parse()
	folder := filepath.Join("..", "web")
	if flag.NArg() > 0 {
		folder = flag.Arg(0)
	}
	err := runEngine("..", *check)
	if err == nil && !*engine {
		err = run(folder, *check)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "bundle:", err)
		os.Exit(1)
	}
}

// output is one file of dist.
type output struct {
	name string
	data []byte
}

func run(folder string, check bool) error {
	outputs, err := build(folder)
	if err != nil {
		return err
	}
	size, err := gzipped(outputs)
	if err != nil {
		return err
	}
	if size > mostGzipped {
		return fmt.Errorf("the bundle has %d bytes gzipped, more than %d", size, mostGzipped)
	}
	dist := filepath.Join(folder, "dist")
	if check {
		return compare(dist, outputs)
	}
	for _, o := range outputs {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dist, o.name)), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dist, o.name), o.data, 0o644); err != nil {
			return err
		}
	}
	fmt.Printf("%d bytes gzipped\n", size)
	return nil
}

// build bundles the scripts and the style, and takes the other files as they are.
func build(folder string) ([]output, error) {
	page, err := filepath.Abs(filepath.Join(folder, "page"))
	if err != nil {
		return nil, err
	}
	result := api.Build(api.BuildOptions{
		AbsWorkingDir: page,
		EntryPointsAdvanced: []api.EntryPoint{
			{InputPath: "src/main.tsx", OutputPath: "app"},
			{InputPath: "src/sound/worklet.ts", OutputPath: "worklet"},
			{InputPath: "style/app.css", OutputPath: "style"},
		},
		Outdir:            filepath.Join(page, "out"), // nothing is written there
		Bundle:            true,
		Format:            api.FormatESModule,
		Target:            api.ES2022,
		JSX:               api.JSXAutomatic,
		JSXImportSource:   "preact",
		Charset:           api.CharsetUTF8,
		MinifyWhitespace:  true,
		MinifyIdentifiers: true,
		MinifySyntax:      true,
		LegalComments:     api.LegalCommentsNone,
		External:          []string{"fonts/*", "*.woff"},
		LogLevel:          api.LogLevelWarning,
	})
	if len(result.Errors) > 0 {
		return nil, errors.New(result.Errors[0].Text)
	}
	var outputs []output
	for _, f := range result.OutputFiles {
		outputs = append(outputs, output{filepath.Base(f.Path), f.Contents})
	}
	for _, name := range []string{"index.html", "favicon.svg", "words/en.json", "NOTICES.txt", "fonts/mono.woff",
		"fonts/mono-bold.woff"} {
		data, err := os.ReadFile(filepath.Join(page, name))
		if err != nil {
			return nil, err
		}
		outputs = append(outputs, output{strings.TrimPrefix(name, "fonts/"), data})
	}
	return outputs, nil
}

func gzipped(outputs []output) (int, error) {
	total := 0
	for _, o := range outputs {
		var b bytes.Buffer
		w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
		if err != nil {
			return 0, err
		}
		if _, err := w.Write(o.data); err != nil {
			return 0, err
		}
		if err := w.Close(); err != nil {
			return 0, err
		}
		total += b.Len()
	}
	return total, nil
}

func compare(dist string, outputs []output) error {
	for _, o := range outputs {
		have, err := os.ReadFile(filepath.Join(dist, o.name))
		if err != nil {
			return err
		}
		if !bytes.Equal(have, o.data) {
			return fmt.Errorf("%s is not what the sources make: run go -C tools run ./bundle", filepath.Join(dist, o.name))
		}
	}
	return nil
}
