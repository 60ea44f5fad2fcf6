#!/bin/sh
# Builds each tests/fuzz/fuzz_NAME.c with libFuzzer and runs it from tests/fuzz/corpus/NAME.
# New finds go to BUILD/corpus/NAME, crashes to BUILD/crash-*; any crash ends with status 1.
set -u
cd "$(dirname "$0")/.." || exit 1
build=${BUILD:-build-fuzz}
flags="-std=c11 -D_POSIX_C_SOURCE=200809L -Iinclude -Itests -O1 -g"
sanitize="-fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all"
mkdir -p "$build"
status=0

for target in tests/fuzz/fuzz_*.c; do
    [ -e "$target" ] || { echo "no targets in tests/fuzz"; exit 1; }
    name=$(basename "$target" .c)
    name=${name#fuzz_}
    echo "fuzz: $name"
    # Only pure rooms: text in, values out. Cairo draws pages, inih reads lines.
    # shellcheck disable=SC2046,SC2086 # lists of words on purpose
    clang $flags $sanitize $(pkg-config --cflags cairo inih) -o "$build/fuzz_$name" "$target" \
        src/music/*.c src/harp/*.c src/drill/*.c src/plan/*.c src/formats/*.c \
        $(pkg-config --libs cairo inih) -lm || exit 1
    mkdir -p "$build/corpus/$name"
    rm -f "$build/crash-$name-"*
    nice "$build/fuzz_$name" -runs="${RUNS:-10000000}" -max_total_time="${SECONDS_EACH:-0}" \
        -artifact_prefix="$build/crash-$name-" -timeout=10 -max_len="${MAX_LEN:-4096}" \
        "$build/corpus/$name" "tests/fuzz/corpus/$name" 2>&1 |
        grep -vE '(NEW|REDUCE|pulse) +cov' | tail -n 40
    if ls "$build/crash-$name-"* >/dev/null 2>&1; then
        status=1
    fi
done
exit "$status"
