// Command meniscus predicts, evaluates and explains titrations followed with
// an electrode.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
