#!/bin/sh
# Issues the demo's sheets anew: after a change of words, layouts or library the committed ledgers no longer hold.
# Run from the repo's root, look at every page in out/, then commit the ledgers and clients/issued.
set -eu
kinleaf=${KINLEAF:-target/release/kinleaf}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
rm -f clients/*.sheets.toml
rm -rf clients/issued
rm -rf out/*/
# Visit by visit: sheet 1 was issued when there was only the first.
for record in clients/*.toml; do
  name=$(basename "$record" .toml)
  cp "$record" "$work/$name.toml"
  visits=$(grep -c '^\[\[visits\]\]' "$record")
  n=1
  while [ "$n" -le "$visits" ]; do
    awk -v n="$n" '/^\[\[visits\]\]/ { seen++ } seen <= n' "$work/$name.toml" > "$record"
    "$kinleaf" print "$name"
    n=$((n + 1))
  done
  cp "$work/$name.toml" "$record"
done
"$kinleaf" print
