# What a developer and CI run. `make test` is all that CI checks.

GO       ?= go
TOOL      = $(GO) tool -modfile=tools/go.mod
PACKAGES ?= ./...
PROGRAM  ?= ./cmd/meniscus
FUZZTIME ?= 4
FUZZRUNS ?= 2000
BENCH    ?= .
ARGS     ?=

# The product is pure Go; only the race detector needs cgo.
export CGO_ENABLED = 0

.PHONY: test lint vet staticcheck format bundled bundle race fuzz parsers cross bench run mutate fmt reference latex

test: lint bundled race parsers cross

lint: format vet staticcheck

vet:
	$(GO) vet $(PACKAGES)

staticcheck:
	$(TOOL) staticcheck $(PACKAGES)

# Lists the files that are not formatted, and fails if there are any.
format:
	@out=$$($(TOOL) gofumpt -l .) || exit 1; \
	if [ -n "$$out" ]; then echo "not formatted (make fmt):"; echo "$$out"; exit 1; fi

# The scripts of the pages: web/client in TypeScript, bundled into
# web/static/dist, which is committed. bundled fails if the two differ.
bundle:
	cd tools && $(GO) run ./bundle

bundled:
	cd tools && $(GO) run ./bundle -check

race:
	CGO_ENABLED=1 $(GO) test -race -count=1 -timeout 60m $(PACKAGES)

# Every fuzz target, FUZZTIME seconds each, at most 20 a package. It looks for
# what nobody thought of, so it may find something at any time.
fuzz:
	FUZZTIME=$(FUZZTIME) bash tools/fuzz.sh

# The targets that read what people hand in, FUZZRUNS inputs each.
parsers:
	FUZZRUNS=$(FUZZRUNS) FUZZONLY='Formula|Reaction|ParseQuantity|Read|ReadXLSX|ReadModel|Equations|Row|FindReference|Setup' bash tools/fuzz.sh

cross:
	GOOS=windows GOARCH=amd64 $(GO) build -o /dev/null $(PROGRAM)
	GOOS=darwin GOARCH=arm64 $(GO) build -o /dev/null $(PROGRAM)
	GOOS=linux GOARCH=arm64 $(GO) build -o /dev/null $(PROGRAM)

# make bench BENCH=FeCe. All of them also draw docs/cost.svg.
bench:
	$(GO) test -run='^$$' -bench='$(BENCH)' -benchmem ./bench $(if $(filter .,$(BENCH)),-figure=$(CURDIR)/docs/cost.svg)
	$(GO) test -run='^$$' -bench='$(BENCH)' -benchmem ./bench/opponent
	$(GO) test -run='^$$' -bench='$(BENCH)' ./web

# make run ARGS="predict examples/SETUP.yaml"
run:
	$(GO) run $(PROGRAM) $(ARGS)

# Breaks one line at a time and looks for a test that turns red. Not in CI.
mutate:
	$(GO) run ./internal/mutate $(ARGS)

fmt:
	$(TOOL) gofumpt -w .

# Recomputes the reference values in Python, without our engine.
reference:
	python3 internal/worked/reference/reference.py

# Needs pdflatex, which CI has not: texlive-latex-base, about 200 MB.
latex:
	bash tools/latex.sh "$${LATEXDIR:-$$(mktemp -d)}"
