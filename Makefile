# make run      set up what is missing, build the app, serve it on http://127.0.0.1:8060/ (PORT=… for another)
# make test     set up what is missing, then every check and test
# make build    the release app, in dist/
# make hostile  ten million inputs to what reads links and records (HOSTILE=… for another number)
# make chaos    each browser killed 500 times, after up to a minute (some four hours, both at once); make test does 25
# make fleet    the fault finder on 10,000 simulated sites (an hour)
# make bench    the speed of the sums, and the size of the app
# make measure  what a hand with a slow phone waits for: first visit, starts, verdicts, Lighthouse (ROUNDS=5; ten minutes)
# make fmt      put the Rust code in order
# make lint     the two clippy runs of make test
# make clean    remove everything that was built (not the tools)

PORT ?= 8060
NATIVE := --no-default-features
WASM := --target wasm32-unknown-unknown --lib --bin sixty-ohms

.PHONY: setup setup-test build run test crosscheck fmt lint bench measure fleet hostile chaos clean journeys
.NOTPARALLEL:

setup:
	@node tools/setup.mjs

setup-test:
	@node tools/setup.mjs test

build: setup
	node tools/bundle.mjs

run: build
	PORT=$(PORT) node tools/serve.mjs

# Cheap checks first: what fails most often should fail soonest.
test: setup-test
	cargo fmt --check
	$(MAKE) --no-print-directory lint
	cargo test $(NATIVE)
	$(MAKE) --no-print-directory crosscheck
	node tools/bundle.mjs
	$(MAKE) --no-print-directory journeys

# The sums against other people's libraries, on seeded random cases.
crosscheck:
	cargo build $(NATIVE) --example sums --example packs --example code
	node tools/crosscheck.mjs

# The journeys alone, on the dist/ that is there. An empty folder is an error, not a pass.
journeys:
	@ls tests/journey/*.test.mjs >/dev/null 2>&1 || { echo "tests/journey holds no *.test.mjs: no journey was tested" >&2; exit 1; }
	node --test --test-concurrency=1 tests/journey/*.test.mjs

fmt:
	cargo fmt

lint: setup
	cargo clippy $(NATIVE) --all-targets -- -D warnings
	cargo clippy $(WASM) -- -D warnings

fleet:
	cargo test --profile native $(NATIVE) --test fleet -- --ignored --nocapture

# Minutes. A kind of input that panics, hangs or takes more than 16 MiB ends it.
hostile:
	cargo test --profile native $(NATIVE) --test hostile -- --include-ignored --nocapture

# Seeds can be given: SEED=7 make chaos. The two run side by side: they wait most of the time.
KILLS ?= 500
LONGEST_MS ?= 60000
SEED ?= 60
chaos: setup-test build
	node tests/journey/chaos.mjs chromium $(KILLS) $(LONGEST_MS) $(SEED) & one=$$!; \
	node tests/journey/chaos.mjs firefox $(KILLS) $(LONGEST_MS) $(SEED); two=$$?; \
	wait $$one && test $$two -eq 0
	node tests/journey/full-disk.mjs

bench: build
	cargo bench $(NATIVE)

# In real browsers, on the processor slowed four times. On a machine that does something else too the times are too long.
ROUNDS ?= 5
measure: setup-test build
	node benches/hand.mjs $(ROUNDS)

clean:
	cargo clean
	rm -rf dist dist.staging dist.old tests/out
