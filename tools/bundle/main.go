// Command bundle makes web/static/dist out of the TypeScript in web/client.
//
//	go run ./bundle          writes the bundles
//	go run ./bundle -check   says whether they are what the sources give
//
// Run it from the folder tools: the product does not carry the bundler.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"github.com/evanw/esbuild/pkg/api"
)

// entries are the files that pages load; the rest is imported by them.
var entries = []string{"evaluate.ts", "explain.ts", "look.ts", "plan.ts", "read.ts", "records.ts"}

func main() {
	check := flag.Bool("check", false, "compare with what is there instead of writing")
	flag.Parse()
	if err := run("../web", *check); err != nil {
		fmt.Fprintln(os.Stderr, "bundle:", err)
		os.Exit(1)
	}
}

func run(web string, check bool) error {
	var in []string
	for _, e := range entries {
		in = append(in, filepath.Join(web, "client", e))
	}
	result := api.Build(api.BuildOptions{
		EntryPoints: in, Outdir: filepath.Join(web, "static", "dist"),
		Bundle: true, Format: api.FormatIIFE, Target: api.ES2022, Charset: api.CharsetUTF8,
		MinifyWhitespace: true, MinifySyntax: true, MinifyIdentifiers: true,
		LogLevel: api.LogLevelWarning,
	})
	if len(result.Errors) > 0 {
		return fmt.Errorf("%d errors in the sources", len(result.Errors))
	}
	for _, f := range result.OutputFiles {
		if !check {
			if err := os.WriteFile(f.Path, f.Contents, 0o644); err != nil {
				return err
			}
			continue
		}
		have, err := os.ReadFile(f.Path)
		if err != nil {
			return err
		}
		if !bytes.Equal(have, f.Contents) {
			return fmt.Errorf("%s is not what web/client gives; run make bundle and commit it", filepath.Base(f.Path))
		}
	}
	return nil
}
