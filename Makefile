# SPDX-License-Identifier: GPL-3.0-or-later
# A thin front of meson. CC=clang and SAN=1 (sanitizers) have build folders of their own.
compiler := $(notdir $(lastword $(CC)))
BUILD := build$(if $(filter-out cc gcc,$(compiler)),/$(compiler))
export CC

ifdef SAN
BUILD := $(BUILD)/san
# gcc gives false warnings of null pointers under its sanitizers, so here they are no errors.
options := -Db_sanitize=address,undefined -Db_lundef=false -Dwerror=false
endif

prefix ?= /usr/local

all: program
	@tools/floorplan

program: $(BUILD)/build.ninja
	@ninja -C $(BUILD) src/cli/bitterend
	@ln -sf src/cli/bitterend $(BUILD)/bitterend

everything: $(BUILD)/build.ninja
	@ninja -C $(BUILD)
	@ln -sf src/cli/bitterend $(BUILD)/bitterend

$(BUILD)/build.ninja:
	meson setup $(options) $(BUILD)

run: program
	@$(BUILD)/bitterend demo $(BUILD)/demo.book --report $(BUILD)/demo-report.html \
	  $(if $(RUN_ONCE),--once)

test: everything
	@tests/run $(BUILD)

# The statistics held against R's; not part of `test`, for it takes some minutes and R.
test-peers: everything
	@tests/peers/run $(BUILD)

bench: everything
	@find $(BUILD)/bench -type f -name 'bench_*' -perm -u+x -exec {} $(BUILD) \;
	@BUILD_DIR=$(CURDIR)/$(BUILD) sh bench/live.sh

# DESTDIR, when given, goes in front of prefix.
install: $(BUILD)/build.ninja
	@meson configure $(BUILD) -Dprefix=$(prefix)
	@meson install -C $(BUILD)

clean:
	rm -rf build

.PHONY: all program everything run test test-peers bench install clean
