# What `cmake --install` puts where, and the Debian package that CPack makes of the same (scripts/package).
# Nothing of tests/ and Catch2 is part of it.

# Pages of the manual, from what the programs say of themselves and what README.md says of them.
string(TIMESTAMP PAGES_DATE "%Y-%m-%d" UTC)  # SOURCE_DATE_EPOCH, where that is set
file(GLOB PAGE_SOURCES CONFIGURE_DEPENDS src/cli/pages/*.md)
file(GLOB SCHEMA_FILES CONFIGURE_DEPENDS schemas/*.yaml schemas/README.md)
set(PAGES ${CMAKE_BINARY_DIR}/pages)
add_custom_command(
  OUTPUT ${PAGES}/made
  COMMAND ${CMAKE_COMMAND} -E rm -rf ${PAGES}
  COMMAND ${CMAKE_COMMAND} -E make_directory ${PAGES}
  COMMAND roadside-sim options > ${PAGES}/simulator-options
  COMMAND vergeset manual-pages ${CMAKE_SOURCE_DIR} ${PAGES}/simulator-options ${PAGES_DATE} ${PAGES}
  COMMAND ${CMAKE_COMMAND} -E touch ${PAGES}/made
  DEPENDS vergeset roadside-sim README.md ${SCHEMA_FILES} ${PAGE_SOURCES}
  COMMENT "Making the pages of the manual"
  VERBATIM)
add_custom_target(pages ALL DEPENDS ${PAGES}/made)

install(TARGETS vergeset roadside-sim RUNTIME)
install(DIRECTORY schemas DESTINATION ${CMAKE_INSTALL_DATADIR}/vergeset)
install(DIRECTORY ${PAGES}/man1 ${PAGES}/man5 DESTINATION ${CMAKE_INSTALL_MANDIR})
install(FILES README.md LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR})
# Fleets to look at and to copy: what git keeps of them, without records or keys that were made in place.
install(DIRECTORY inventories/first inventories/larkmoor DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples
  PATTERN records EXCLUDE PATTERN keys EXCLUDE PATTERN .gitignore EXCLUDE)
# A night, and listening, as services. Their units name programs by where the package has them; elsewhere they name
# where these are.
install(PROGRAMS scripts/nightly RENAME vergeset-nightly DESTINATION ${CMAKE_INSTALL_LIBEXECDIR}/vergeset)
install(FILES scripts/vergeset-nightly@.timer DESTINATION lib/systemd/system)
install(FILES scripts/vergeset.sysusers RENAME vergeset.conf DESTINATION lib/sysusers.d)
foreach(SERVICE vergeset-nightly@.service vergeset-listen@.service)
  install(CODE "
    file(READ \"${CMAKE_SOURCE_DIR}/scripts/${SERVICE}\" service)
    string(REPLACE \"=/usr/libexec/\" \"=\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_LIBEXECDIR}/\" service \"\${service}\")
    string(REPLACE \"=/usr/bin/\" \"=\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_BINDIR}/\" service \"\${service}\")
    file(WRITE \"${CMAKE_BINARY_DIR}/installed-service/${SERVICE}\" \"\${service}\")
    file(INSTALL DESTINATION \"\${CMAKE_INSTALL_PREFIX}/lib/systemd/system\" TYPE FILE
      FILES \"${CMAKE_BINARY_DIR}/installed-service/${SERVICE}\")")
endforeach()

install(FILES src/cli/completion/vergeset.bash RENAME vergeset
  DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES src/cli/completion/vergeset.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
# Of the system's own prefix zsh looks in another folder than of /usr/local.
set(ZSH_COMPLETION ${CMAKE_SOURCE_DIR}/src/cli/completion/_vergeset)
install(CODE "
  set(functions site-functions)
  if(CMAKE_INSTALL_PREFIX STREQUAL \"/usr\")
    set(functions vendor-completions)
  endif()
  file(INSTALL DESTINATION \"\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_DATADIR}/zsh/\${functions}\"
    TYPE FILE FILES \"${ZSH_COMPLETION}\")")

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME vergeset)
set(CPACK_PACKAGE_VENDOR "Larkmoor district")
set(CPACK_PACKAGE_CONTACT "Larkmoor signals desk <signals@larkmoor.example>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "keeps roadside units set as their files say")
set(CPACK_PACKAGE_DESCRIPTION
"A fleet of roadside units (RSUs) is described in YAML files under version
control. vergeset reads each unit over SNMPv3, compares it with them, and
brings what differs into line by SETs that can be rehearsed, approved,
verified by reading back and rolled back. It knows NTCIP 1218 v01 and
RSU 4.1, and agencies' own models.
.
roadside-sim, which plays units for trying things out, is part of it.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_PACKAGE_SECTION net)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# Names of time zones are checked, and times of windows told, by its files.
set(CPACK_DEBIAN_PACKAGE_DEPENDS tzdata)
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "parallel, snmp")
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA ${CMAKE_SOURCE_DIR}/scripts/postinst)
set(CPACK_PRE_BUILD_SCRIPTS ${CMAKE_SOURCE_DIR}/scripts/finish-package.cmake)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
include(CPack)
