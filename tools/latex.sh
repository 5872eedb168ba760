#!/usr/bin/env bash
# Compiles the explanation of every example, an exercise sheet and its key with
# pdflatex into DIR, and fails at the first that does not compile.
set -euo pipefail
dir=${1:?usage: tools/latex.sh DIR}
command -v pdflatex >/dev/null || { echo "pdflatex is not installed: Debian has it in texlive-latex-base" >&2; exit 1; }
mkdir -p "$dir"
go build -o "$dir/meniscus" ./cmd/meniscus
for setup in examples/systems/*.yaml; do
	"$dir/meniscus" explain "$setup" --format latex --output "$dir/$(basename "$setup" .yaml).tex"
done
"$dir/meniscus" exercise --seed 7 --format latex --output "$dir/sheet.tex"
"$dir/meniscus" exercise --seed 7 --key --format latex --output "$dir/key.tex"
cd "$dir"
for f in *.tex; do
	pdflatex -interaction=nonstopmode -halt-on-error "$f" >"$f.out" 2>&1 || { grep -a -A3 '^!' "$f.out"; echo "$f does not compile" >&2; exit 1; }
	grep -a -H Overfull "$f.out" || true
done
echo "compiled $(ls ./*.pdf | wc -l) documents in $dir"
