#!/bin/sh
# Prints acceptance sheets with chromium on A4 and US Letter, and reads what came out. Exits with 77 where
# chromium or poppler-utils is not there.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 2 ]; then
  echo "Usage: acceptance_print.sh ACCEPTANCE_SHEETS FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
writer=$1
work=$2

for tool in chromium pdfinfo pdftotext; do
  command -v $tool >/dev/null || {
    echo "$tool is not there (packages chromium, poppler-utils): nothing was checked"
    exit 77
  }
done

rm -rf "$work"
mkdir -p "$work"
cd "$work"
"$writer" "$work"

complain() {
  echo "$*" >&2
  exit 1
}

# browse LOG ARGUMENTS...: chromium, which may take its time but not for ever.
browse() {
  log=$1
  shift
  timeout 120 chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage --no-first-run \
    --user-data-dir="$work/profile" --enable-logging=stderr --v=0 "$@" >"$log" 2>&1 || {
    tail -n 20 "$log" >&2
    complain "chromium failed: $*"
  }
}

# on_paper SHEET PAPER WIDTH HEIGHT: the sheet as it stands, but for the size of its paper in points, is two sides.
on_paper() {
  name=$1-$2
  sed "s/@page { margin/@page { size: $3pt $4pt; margin/" "$1.html" >"$name.html"
  browse "$name.log" --no-pdf-header-footer --print-to-pdf="$work/$name.pdf" "file://$work/$name.html"
  grep -i 'console' "$name.log" && complain "$name: the browser complains"
  sides=$(pdfinfo "$name.pdf" | sed -n 's/^Pages: *//p')
  size=$(pdfinfo "$name.pdf" | sed -n 's/^Page size: *\([0-9.]*\) x \([0-9.]*\).*/\1 \2/p')
  [ "$sides" = 2 ] || complain "$name: $sides sides, expected 2"
  echo "$size" | awk -v w="$3" -v h="$4" '{ exit !($1 > w - 2 && $1 < w + 2 && $2 > h - 2 && $2 < h + 2) }' ||
    complain "$name: printed on $size, expected $3 $4"
  pdftotext -layout -f 1 -l 1 "$name.pdf" "$name.1.txt"
  pdftotext -layout -f 2 -l 2 "$name.pdf" "$name.2.txt"
}

# holds FILE TEXT...
holds() {
  file=$1
  shift
  for text in "$@"; do
    grep -qF -- "$text" "$file" || complain "$file does not hold: $text"
  done
}

for sheet in ordinary worst hostile empty; do
  for paper in "A4 595 842" "Letter 612 792"; do
    # shellcheck disable=SC2086
    on_paper $sheet $paper
    name=$sheet-${paper%% *}
    holds "$name.1.txt" "Acceptance sheet" "Open findings" "Site record" "Checks at the pole" "Signatures" \
      installer "inspector or engineer" owner "side 1 of 2"
    holds "$name.2.txt" "Acceptance sheet" Stages Settings Position Keys Cautions "side 2 of 2"
    # The hostile sheet alone may say such words: they are not ours.
    [ $sheet = hostile ] || ! grep -qiE 'pass(word|phrase)|community|secret|[0-9a-f]{32}' "$name.1.txt" "$name.2.txt" ||
      complain "$name: something that looks like a secret"
  done
done

for paper in A4 Letter; do
  holds ordinary-$paper.1.txt LK-104 "may be accepted" "3 satellites" "at the pole 6.2 m" r.lopez 2026-11-25T08:20Z
  holds ordinary-$paper.2.txt LK-104 192.0.2.10 "bearing 42 deg" "change 0041" "Local codes"
  ! grep -q ' more: ' ordinary-$paper.1.txt ordinary-$paper.2.txt || complain "an ordinary sheet is cut on $paper"
  holds worst-$paper.1.txt LK-104 "not to be accepted yet" "finding 4:" "check 16:" "field 29"
  holds worst-$paper.2.txt LK-104 "more: records/commissioning/LK-104/0002" stage-10 "found 1:"
  holds hostile-$paper.1.txt '<script>'
  holds hostile-$paper.2.txt '<script>'
done
shown=$(grep -oE 'found [0-9]+:' worst-Letter.2.txt | sort -u | wc -l)
more=$(sed -n 's/.*and \([0-9]*\) more: .*/\1/p' worst-Letter.2.txt | tail -n 1)
[ $((shown + more)) -eq 160 ] || complain "of 160 settings $shown are printed and $more told of"

# The page as a browser has it in hand: what a hostile sheet says is text, and makes no element.
browse dom.log --dump-dom "file://$work/hostile.html"
! grep -qE '<(script|img)' dom.log || complain "a hostile sheet made elements of its own"
echo "all sheets print on two sides"
