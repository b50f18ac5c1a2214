# Everyday commands; "make help" lists them. Only Go and make are needed.

GO      ?= go
FUZZTIME ?= 20s
PLAIN ?= 0
JOBS ?= 1000
STRANGERS ?= 60
BIN ?= dist
PREFIX ?= $(HOME)/.local
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo dev)
COMMIT  := $(shell git rev-parse HEAD 2>/dev/null)
LDFLAGS := -s -w -X main.version=$(VERSION) -X main.commit=$(COMMIT)

export CGO_ENABLED = 0
# As "build" has it: what is compiled for the tests then serves the program too, which
# some of them build.
export GOFLAGS := $(filter-out -trimpath,$(GOFLAGS)) -trimpath

# Packages tested at a time: one more than cores, for many wait for a browser, a disk or
# a database.
AT_ONCE ?= $(shell expr $$(getconf _NPROCESSORS_ONLN 2>/dev/null || echo 2) + 1)

.PHONY: help demo test lint race race-store race-web benchmarks fuzz cover calibration build install clean torture

help: ## list these commands
	@awk -F ':.*## ' '/^[a-z]+:.*## /{printf "  make %-11s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

demo: build ## diagnose a made-up car, start to finish
	dist/weephole demo

test: ## all tests
	.ci/setup
	$(GO) vet ./...
	$(GO) test -vet=off -p $(AT_ONCE) -timeout 30m ./internal/web ./cmd/... ./internal/work ./lineup ./proof ./... # vetted above; the longest first, so that none is left alone at the end

race: race-store race-web ## the packages that many people use at once, under the race detector (needs a C compiler)
race-store:
	CGO_ENABLED=1 $(GO) test -vet=off -p $(AT_ONCE) -race -short -timeout 8m ./internal/store/...
race-web:
	CGO_ENABLED=1 $(GO) test -vet=off -race -short -timeout 8m -run 'AtOnce|AnotherDeviceHears|Listens|StreamEnds|KeptOnce|NeverRead|StopsAndStarts' ./internal/web

lint: ## formatting, vet, staticcheck (pinned in tools.mod; the first run builds it)
	@bad="$$(gofmt -l $$(git ls-files '*.go'))"; if [ -n "$$bad" ]; then echo "gofmt would change: $$bad"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool -modfile=tools.mod staticcheck ./...

benchmarks: ## time and memory of the packages
	$(GO) test -run '^$$' -bench . -benchmem ./...

torture: ## 1,000 kills and power cuts of a folder; 400 of a group's benches and database, its full disk and slow line (long)
	WEEPHOLE_KILLS=1000 WEEPHOLE_CUTS=1000 $(GO) test -count 1 -timeout 2h -v -run 'Killed|PowerCut' ./internal/store/sqlite
	WEEPHOLE_KILLS=100 $(GO) test -count 1 -timeout 1h -v -run 'Killed|FullDisk|SlowNetwork' ./internal/store/postgres
	WEEPHOLE_KILLS=100 WEEPHOLE_ALL=1 $(GO) test -count 1 -timeout 1h -v -run 'KilledBenchOrDatabase|FullDatabase|SlowLine' ./internal/web

fuzz: ## each fuzz test for FUZZTIME (20s), then for PLAIN (0) without guidance: faster, and finds less
	.ci/fuzz $(FUZZTIME) . $(PLAIN)

cover: ## which lines the tests reach, into dist/cover.html
	@mkdir -p dist
	$(GO) test -coverprofile dist/cover.out ./...
	$(GO) tool cover -html dist/cover.out -o dist/cover.html
	$(GO) tool cover -func dist/cover.out | tail -n 1

calibration: build ## measure on all worlds, into docs/calibration.md and calibration-own.md (long)
	dist/weephole trial --cases cases --seeds 1,2 --json > dist/cases.json
	dist/weephole trial --world stranger --cars $(STRANGERS) --seed 100104 --json > dist/stranger.json
	dist/weephole trial --jobs $(JOBS) --seed 100003 --compare 40 --plots docs/calibration --page dist/own.md --json > dist/own.json
	dist/weephole trial --side-by-side dist/cases.json --side-by-side dist/stranger.json --side-by-side dist/own.json > dist/calibration.md
	mv dist/own.md docs/calibration-own.md
	mv dist/calibration.md docs/calibration.md

build: ## the program, into dist/weephole; the same commit gives the same bytes
	@mkdir -p $(BIN)
	$(GO) build -trimpath -buildvcs=false -ldflags '$(LDFLAGS)' -o $(BIN)/weephole ./cmd/weephole

install: build ## the program, into PREFIX/bin (~/.local/bin)
	@mkdir -p $(DESTDIR)$(PREFIX)/bin
	install -m 755 $(BIN)/weephole $(DESTDIR)$(PREFIX)/bin/weephole

clean: ## remove what make made
	rm -rf dist
