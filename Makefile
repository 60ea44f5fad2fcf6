# evenhand - `make run` plays, `make test` tests; `make help` lists the rest.
#
# BUILD      where everything is built (default: build)
# SANITIZE   e.g. address,undefined or thread; give it a BUILD of its own
# ONLY       tests to build and run, e.g. ONLY=music/test_ratio or ONLY='sound/* drill/*'
# V          V=1 prints whole compiler command lines
# PREFIX     where `make install` puts things (default: /usr/local), below DESTDIR

BUILD   ?= build
PREFIX  ?= /usr/local
DESTDIR ?=
CC      ?= cc
ifeq ($(origin CC),default)
CC := gcc
endif
CFLAGS  ?= -O2 -g
JOBS    ?= $(shell nproc 2>/dev/null || echo 1)
PASSAGE ?= $(firstword $(sort $(wildcard presets/*.abc)))

DATADIR := $(PREFIX)/share/evenhand
MANDIR  := $(PREFIX)/share/man/man1

# Asked only when something is compiled: on a bare machine set-up brings pkg-config first.
LIBRARIES = ncursesw portaudio-2.0 sndfile samplerate cairo sqlite3 inih
LIB_CFLAGS = $(eval LIB_CFLAGS := $(shell pkg-config --cflags-only-I $(LIBRARIES)))$(LIB_CFLAGS)
LIBS       = $(shell pkg-config --libs $(LIBRARIES)) -lpthread -lm
TEST_LIBS  = $(shell pkg-config --libs cmocka)

WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes
DEFINES  := -D_POSIX_C_SOURCE=200809L
ALL_CFLAGS = -std=c11 $(DEFINES) -Iinclude $(LIB_CFLAGS) $(WARNINGS) $(CFLAGS) $(WERROR)
ifneq ($(SANITIZE),)
ALL_CFLAGS += -fsanitize=$(SANITIZE) -fno-omit-frame-pointer -fno-sanitize-recover=all
LDFLAGS    += -fsanitize=$(SANITIZE)
endif

# ---- what there is: found, not listed ------------------------------------------------------

SOURCES := $(sort $(wildcard src/*/*.c))
MAIN    := $(filter src/app/main.c,$(SOURCES))
ROOMS   := $(filter-out $(MAIN),$(SOURCES))
OBJECTS := $(ROOMS:%.c=$(BUILD)/obj/%.o)

# tests/<room>/test_x.c is a program; any other .c beside it is help that all of them share.
NOT_UNITS     := $(wildcard tests/bench/*.c tests/fuzz/*.c tests/tools/*.c)
TEST_FILES    := $(filter-out $(NOT_UNITS),$(sort $(wildcard tests/*/*.c)))
ALL_TESTS     := $(foreach f,$(TEST_FILES),$(if $(filter test_%,$(notdir $f)),$f))
TEST_HELPERS  := $(filter-out $(ALL_TESTS),$(TEST_FILES))
TEST_SOURCES  ?= $(if $(ONLY),$(filter-out $(TEST_HELPERS),$(foreach o,$(ONLY),$(wildcard tests/$(o).c))),$(ALL_TESTS))
TEST_PROGRAMS := $(TEST_SOURCES:%.c=$(BUILD)/%)
TOOL_SOURCES  := $(sort $(wildcard tests/tools/*.c))
TOOLS         := $(TOOL_SOURCES:%.c=$(BUILD)/%)
BENCH_SOURCES := $(sort $(wildcard tests/bench/bench_*.c))
BENCHES       := $(BENCH_SOURCES:%.c=$(BUILD)/%)
FUZZ_SOURCES  := $(sort $(wildcard tests/fuzz/fuzz_*.c))

LIBRARY      := $(BUILD)/libevenhand.a
TEST_LIBRARY := $(BUILD)/libtesthelp.a
PROGRAM      := $(BUILD)/evenhand

Q   = $(if $(V),,@)
SAY = @$(if $(V)$(findstring s,$(firstword -$(MAKEFLAGS))),:,printf '%9s  %s\n' '$(1)' '$(2)')

# ---- building ------------------------------------------------------------------------------

.PHONY: all programs run test check asan tsan bench fuzz install uninstall sounds format clean help
.DEFAULT_GOAL := all
.DELETE_ON_ERROR:
.SECONDARY:

all: $(if $(MAIN),$(PROGRAM),$(LIBRARY))

# Everything that can be built for the tests.
programs: $(if $(ONLY),,all) $(TEST_PROGRAMS) $(TOOLS)

$(PROGRAM): $(MAIN:%.c=$(BUILD)/obj/%.o) $(LIBRARY)
	$(call SAY,link,$@)
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS)

# Written afresh each time, so that an object of a removed file does not linger.
$(LIBRARY): $(OBJECTS) $(BUILD)/rooms.list
	@rm -f $@
	$(call SAY,archive,$@)
	$(Q)$(AR) rcs $@ $(OBJECTS)

$(TEST_LIBRARY): $(TEST_HELPERS:%.c=$(BUILD)/obj/%.o) $(BUILD)/rooms.list
	@rm -f $@
	$(Q)$(AR) rcs $@ $(filter %.o,$^)

# Changes when files come or go.
$(BUILD)/rooms.list: FORCE
	@mkdir -p $(@D)
	@echo '$(ROOMS) $(TEST_HELPERS)' | cmp -s - $@ || echo '$(ROOMS) $(TEST_HELPERS)' >$@
.PHONY: FORCE
FORCE:

# Where `make install` puts the data; only paths.c knows it, so only that is built again.
$(BUILD)/obj/src/app/paths.o: DEFINES += -DEVENHAND_DATADIR='"$(DATADIR)"'
$(BUILD)/obj/src/app/paths.o: $(BUILD)/datadir.list
$(BUILD)/datadir.list: FORCE
	@mkdir -p $(@D)
	@echo '$(DATADIR)' | cmp -s - $@ || echo '$(DATADIR)' >$@

# How things are compiled: all is built again when it changes.
$(BUILD)/settings.list: FORCE
	@pkg-config --exists $(LIBRARIES) || { echo 'Libraries are missing: run .ci/setup run'; exit 1; }
	@mkdir -p $(@D)
	@echo '$(CC) $(CFLAGS) $(SANITIZE)' | cmp -s - $@ || echo '$(CC) $(CFLAGS) $(SANITIZE)' >$@

$(BUILD)/obj/%.o: %.c $(BUILD)/settings.list
	@mkdir -p $(@D)
	$(call SAY,compile,$<)
	$(Q)$(CC) $(ALL_CFLAGS) $(if $(filter tests/%,$<),-Itests) -MMD -MP -c -o $@ $<

$(BUILD)/tests/%: $(BUILD)/obj/tests/%.o $(TEST_LIBRARY) $(LIBRARY)
	@mkdir -p $(@D)
	$(call SAY,link,$@)
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $< $(TEST_LIBRARY) $(LIBRARY) $(TEST_LIBS) $(LIBS)

-include $(wildcard $(BUILD)/obj/*/*/*.d)

# ---- the two commands ----------------------------------------------------------------------
# Set-up first, then a second make: pkg-config may only just have been installed.

run:
	@.ci/setup run
	@$(MAKE) --no-print-directory -j$(JOBS) all
	@EVENHAND_DATA='$(CURDIR)' $(PROGRAM) $(PASSAGE)

test:
	@.ci/setup test
	@$(MAKE) --no-print-directory -j$(JOBS) programs
	@EVENHAND_BUILD=$(BUILD) .ci/run-tests $(TEST_PROGRAMS)

# ---- checks --------------------------------------------------------------------------------
# Each finding of each tool is told (-k) before the end; what was clean is not looked at again.

CHECK    := $(BUILD)-check
HEADERS  := $(sort $(wildcard include/evenhand/*/*.h src/*/*.h tests/*/*.h tests/*/*/*.h))
EVERY_C  := $(SOURCES) $(TEST_FILES) $(TOOL_SOURCES) $(BENCH_SOURCES) $(FUZZ_SOURCES) \
            $(wildcard sounds/*.c)
SHELLS   := .ci/run .ci/run-tests .ci/setup $(wildcard .ci/*.sh tests/*/*.sh)
CHECKS   := check-gcc check-clang check-tidy check-cppcheck check-format check-tree check-manual \
            check-shell

.PHONY: $(CHECKS)
check:
	@.ci/setup check
	@$(MAKE) --no-print-directory -k -s -j$(JOBS) $(CHECKS)
	@echo 'check: gcc, clang, clang-tidy, cppcheck, format, tree, manual and shell are clean'

check-gcc:
	@$(MAKE) --no-print-directory -k BUILD=$(CHECK) CC=gcc WERROR=-Werror programs bench-objects

check-clang: $(EVERY_C:%.c=$(CHECK)/clang/%.ok)
$(CHECK)/clang/%.ok: %.c $(HEADERS)
	@mkdir -p $(@D)
	clang $(ALL_CFLAGS) -Werror -Itests -fsyntax-only $<
	@touch $@

check-tidy: $(SOURCES:%.c=$(CHECK)/tidy/%.ok)
$(CHECK)/tidy/%.ok: %.c $(HEADERS) .clang-tidy
	@mkdir -p $(@D)
	clang-tidy --quiet $< -- -std=c11 $(DEFINES) -Iinclude $(LIB_CFLAGS) 2>/dev/null
	@touch $@

# internalAstError: this cppcheck does not read a compound literal inside ?:
check-cppcheck: $(CHECK)/cppcheck.ok
$(CHECK)/cppcheck.ok: $(SOURCES) $(HEADERS)
	@mkdir -p $(@D)/cppcheck
	cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr \
	    --suppress=missingIncludeSystem --suppress=internalAstError \
	    --error-exitcode=1 --cppcheck-build-dir=$(@D)/cppcheck $(DEFINES) -Iinclude src
	@touch $@

check-format:
	@status=0; for f in $(EVERY_C) $(HEADERS); do \
	    clang-format --dry-run -Werror $$f 2>/dev/null || \
	    { echo "$$f: not in the house style; make format"; status=1; }; \
	done; exit $$status

check-tree: check-gcc
	/usr/bin/python3 tests/tools/check_tree.py $(CHECK)

check-manual:
	mandoc -T lint -W warning src/app/evenhand.1

check-shell:
	shellcheck $(SHELLS)

# Undefined behaviour and memory faults end the program that has them.
asan:
	@.ci/setup test
	@ASAN_OPTIONS=detect_leaks=1:detect_stack_use_after_return=1 UBSAN_OPTIONS=print_stacktrace=1 \
	    LSAN_OPTIONS=suppressions=$(CURDIR)/.ci/lsan.supp:print_suppressions=0 \
	    $(MAKE) --no-print-directory BUILD=$(BUILD)-asan SANITIZE=address,undefined \
	    CFLAGS='-O1 -g' test-only

tsan:
	@.ci/setup test
	@TSAN_OPTIONS=halt_on_error=0:exitcode=66:suppressions=$(CURDIR)/.ci/tsan.supp \
	    $(MAKE) --no-print-directory BUILD=$(BUILD)-tsan SANITIZE=thread \
	    CFLAGS='-O1 -g' ONLY='$(or $(ONLY),sound/test_* journal/test_scribe*)' test-only

.PHONY: test-only
test-only:
	@$(MAKE) --no-print-directory -j$(JOBS) programs
	@EVENHAND_BUILD=$(BUILD) .ci/run-tests $(TEST_PROGRAMS)

# ROWS=write, abc, plan, drills, engine, exam, record, console: only those.
bench:
	@.ci/setup bench
	@$(MAKE) --no-print-directory -j$(JOBS) all bench-programs
	@/usr/bin/python3 tests/bench/run.py $(BUILD) $(ROWS)

.PHONY: bench-programs bench-objects
bench-programs: $(BENCHES)
bench-objects: $(BENCH_SOURCES:%.c=$(BUILD)/obj/%.o)

# The bare program to compare with carries no library but the one it plays through.
$(BUILD)/tests/bench/bench_silence: $(BUILD)/obj/tests/bench/bench_silence.o
	@mkdir -p $(@D)
	$(call SAY,link,$@)
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $< $(shell pkg-config --libs portaudio-2.0)

# RUNS inputs (0: no end) or SECONDS_EACH seconds for each target, whichever comes first.
RUNS         ?= 10000000
SECONDS_EACH ?= 0
fuzz:
	@.ci/setup fuzz
	@BUILD=$(BUILD)-fuzz RUNS=$(RUNS) SECONDS_EACH=$(SECONDS_EACH) JOBS=$(JOBS) .ci/fuzz.sh

# Makes the click sounds again; they are in the repository, so nobody needs to.
sounds: $(BUILD)/obj/sounds/generate.o
	$(Q)$(CC) $(CFLAGS) $(LDFLAGS) -o $(BUILD)/generate $< $(LIBS)
	$(BUILD)/generate sounds

format:
	clang-format -i $(EVERY_C) $(HEADERS)

# ---- installing ----------------------------------------------------------------------------

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(DATADIR)/sounds $(DESTDIR)$(DATADIR)/presets \
	    $(DESTDIR)$(MANDIR)
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/evenhand
	install -m 644 $(wildcard sounds/*.wav sounds/*.flac sounds/*.ogg) $(DESTDIR)$(DATADIR)/sounds
	install -m 644 $(wildcard presets/*.abc presets/*.ini) $(DESTDIR)$(DATADIR)/presets
	install -m 644 src/app/evenhand.1 $(DESTDIR)$(MANDIR)/evenhand.1

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/evenhand $(DESTDIR)$(MANDIR)/evenhand.1
	rm -rf $(DESTDIR)$(DATADIR)

clean:
	rm -rf $(BUILD) $(BUILD)-asan $(BUILD)-tsan $(BUILD)-fuzz $(BUILD)-check

help:
	@echo 'make            build $(PROGRAM)'
	@echo 'make run        install what is missing, build, open the console on a bundled passage'
	@echo 'make test       install what is missing, build and run all tests'
	@echo 'make check      compilers, linters, formatter, include arrows, documents'
	@echo 'make asan       the tests with address and undefined-behaviour sanitizers'
	@echo 'make tsan       the sound tests with the thread sanitizer'
	@echo 'make bench      speed and size against other programs, as a table'
	@echo 'make fuzz       random input to the readers; RUNS=10000000 SECONDS_EACH=0'
	@echo 'make install    into PREFIX=/usr/local below DESTDIR; make uninstall takes it away'
	@echo 'make sounds     make the click sounds again with their generator'
	@echo 'make format     write the house style; make clean removes all that was built'
