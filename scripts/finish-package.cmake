# Run by CPack on what it has installed, before that becomes a package: what Debian wants of a package beyond
# what an installation has. Compressed pages, a copyright in Debian's form, a changelog.
set(root ${CPACK_TEMPORARY_INSTALL_DIRECTORY}/usr/share)
file(GLOB pages ${root}/man/man*/*.[15])
execute_process(COMMAND gzip -9n ${pages} COMMAND_ERROR_IS_FATAL ANY)

set(doc ${root}/doc/vergeset)
file(REMOVE ${doc}/LICENSE)
file(WRITE ${doc}/copyright
"Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: vergeset

Files: *
Copyright: 2026 the authors of vergeset
License: Apache-2.0
 On Debian systems the full text of the Apache License, version 2.0, is in
 /usr/share/common-licenses/Apache-2.0.
")
string(TIMESTAMP date "%a, %d %b %Y %H:%M:%S +0000" UTC)
file(WRITE ${doc}/changelog.Debian
"vergeset (${CPACK_PACKAGE_VERSION}-${CPACK_DEBIAN_PACKAGE_RELEASE}) stable; urgency=medium

  * Built from its source tree.

 -- ${CPACK_PACKAGE_CONTACT}  ${date}
")
execute_process(COMMAND gzip -9n ${doc}/changelog.Debian COMMAND_ERROR_IS_FATAL ANY)
file(CHMOD ${doc}/copyright ${doc}/changelog.Debian.gz
  PERMISSIONS OWNER_READ OWNER_WRITE GROUP_READ WORLD_READ)
