#!/bin/sh
# Builds the bench, lets it gate a part of the scenarios on each station into a temporary
# folder, and judges what it left anew. Ends as judge.py does: 1 on any disagreement.
#
#     run.sh [TAGS [PHASES]]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
tags=${1:-@HR-005,@HR-035,@HR-050,@HR-054,@HR-058,@HR-064,@HR-090,@HR-095}
phases=${2:-10}
python=${PYTHON:-python3}

out=$(mktemp -d)
mkdir "$out/judge" # the Parquet reader is installed there, and never into the repository
cp "$here"/*.py "$here/columns.mjs" "$here/package.json" "$out/judge"
npm install --prefix "$out/judge" --silent
(cd "$root" && go build -o "$out/haltmark" ./cmd/haltmark)
for station in demo small large; do
    code=0
    "$out/haltmark" gate --station "$station" --tags "$tags" --phases "$phases" \
        --out "$out/$station" >"$out/$station.log" || code=$?
    [ "$code" -le 2 ] || { cat "$out/$station.log"; exit "$code"; } # a verdict is enough
done
if "$python" "$out/judge/judge.py" "$out/demo/latest" "$out/small/latest" "$out/large/latest"; then
    rm -rf "$out"
else
    echo "The run folders are kept in $out" >&2
    exit 1
fi
