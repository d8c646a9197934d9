#!/bin/sh
# usage: packaged.sh BUILD. Makes the Debian package out of what is built, and looks into it.
set -eu

build=$1
. "$(dirname "$0")/scratch.sh"

cd "$scratch"
umask 022
# Compressing well takes long.
cpack -G DEB --config "$build/CPackConfig.cmake" -B "$scratch" -D CPACK_DEBIAN_COMPRESSION_TYPE=gzip >log 2>&1 || fail "$(tail -n 20 log)"
package=$(ls "$scratch"/*.deb)
dpkg-deb -c "$package" >held
for file in usr/bin/vergeset usr/bin/roadside-sim usr/libexec/vergeset/vergeset-nightly \
  usr/lib/systemd/system/vergeset-nightly@.service usr/lib/systemd/system/vergeset-nightly@.timer \
  usr/lib/systemd/system/vergeset-listen@.service usr/share/vergeset/schemas/common.yaml usr/share/man/man1/vergeset.1.gz \
  usr/share/man/man5/vergeset-fleet.5.gz usr/share/zsh/vendor-completions/_vergeset usr/share/doc/vergeset/copyright \
  usr/share/doc/vergeset/changelog.Debian.gz; do
  grep -q " \./$file\$" held || fail "the package lacks $file"
done
# Nothing is enabled, or started, by installing it.
if grep -E '\.(wants|requires)/' held; then fail "the package enables a service"; fi
if grep -vE ' root/root ' held; then fail "files of others than root"; fi
if grep -iE 'catch|test_|/opt/|/home/' held; then fail "what has no place in the package"; fi
dpkg-deb -f "$package" >control
for line in 'Package: vergeset' 'Section: net' 'Maintainer: .*@larkmoor.example'; do
  grep -q "^$line" control || fail "no $line in $(cat control)"
done
for library in libsnmp40 libyaml-cpp libssl3 libfmt libgeographiclib libc6 tzdata; do
  grep -q "^Depends: .*$library" control || fail "the package does not depend on $library: $(grep ^Depends control)"
done
