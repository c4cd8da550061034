# What is installed, and what a package is made of.
include(CMakePackageConfigHelpers)

# The library: the shared one as a CMake package, both by pkg-config.
install(TARGETS glassine_shared EXPORT glassine
  LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR} RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR}
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} INCLUDES DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})
install(TARGETS glassine_static ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
install(FILES libformat/glassine.h DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})

set_target_properties(glassine_shared PROPERTIES EXPORT_NAME glassine)
set(package_folder ${CMAKE_INSTALL_LIBDIR}/cmake/glassine)
install(EXPORT glassine NAMESPACE glassine:: FILE glassineTargets.cmake DESTINATION ${package_folder})
configure_package_config_file(packaging/glassineConfig.cmake.in ${PROJECT_BINARY_DIR}/glassineConfig.cmake
  INSTALL_DESTINATION ${package_folder})
write_basic_package_version_file(${PROJECT_BINARY_DIR}/glassineConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/glassineConfig.cmake ${PROJECT_BINARY_DIR}/glassineConfigVersion.cmake
  DESTINATION ${package_folder})

# From where the file lies, so that a tree can be moved.
file(RELATIVE_PATH pkgconfig_to_prefix /prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig /prefix)
set(pkgconfig_late ${CMAKE_DL_LIBS})
if(NOT GLASSINE_LATE_LOADED)
  list(APPEND pkgconfig_late archive tiff)
endif()
list(TRANSFORM pkgconfig_late PREPEND -l)
list(JOIN pkgconfig_late " " pkgconfig_late)
configure_file(packaging/glassine.pc.in ${PROJECT_BINARY_DIR}/glassine.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/glassine.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)

# Nothing but glassine_* leaves the shared library.
if(CMAKE_SYSTEM_NAME STREQUAL "Linux")
  set(exports ${PROJECT_SOURCE_DIR}/packaging/glassine.map)
  target_link_options(glassine_shared PRIVATE -Wl,--version-script=${exports})
  if(NOT GLASSINE_SANITIZE)
    target_link_options(glassine_shared PRIVATE -Wl,--no-undefined)
  endif()
  set_target_properties(glassine_shared PROPERTIES LINK_DEPENDS ${exports})
endif()

# The program and what makes a desktop know it.
install(FILES completion/glassine.bash RENAME glassine
  DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES completion/_glassine DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(FILES packaging/glassine.xml DESTINATION ${CMAKE_INSTALL_DATADIR}/mime/packages)
install(FILES packaging/glassine.desktop DESTINATION ${CMAKE_INSTALL_DATADIR}/applications)
set(icons ${CMAKE_INSTALL_DATADIR}/icons/hicolor/scalable)
install(FILES packaging/glassine.svg DESTINATION ${icons}/mimetypes RENAME application-vnd.glassine+zip.svg)
install(FILES packaging/glassine.svg DESTINATION ${icons}/apps)

# What somebody reads, in folders as in the tree, so that links between documents hold. What is installed elsewhere
# has a link there; the way to it is made when the names of the folders are known.
install(FILES README.md CHANGELOG.md DEVELOPERS.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME copyright)
install(DIRECTORY docs spec DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES examples/list_claims.c examples/preview_merge.c DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples)
install(DIRECTORY tests/second-reader DESTINATION ${CMAKE_INSTALL_DOCDIR}/tests PATTERN __pycache__ EXCLUDE)
install(DIRECTORY testvectors DESTINATION ${CMAKE_INSTALL_DATADIR}/glassine)
install(DIRECTORY DESTINATION ${CMAKE_INSTALL_DOCDIR}/libformat)
file(RELATIVE_PATH documents_to_header ${CMAKE_INSTALL_FULL_DOCDIR}/libformat
  ${CMAKE_INSTALL_FULL_INCLUDEDIR}/glassine.h)
file(RELATIVE_PATH documents_to_kit ${CMAKE_INSTALL_FULL_DOCDIR} ${CMAKE_INSTALL_FULL_DATADIR}/glassine/testvectors)
install(CODE "
  set(documents \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_DOCDIR}\")
  file(CREATE_LINK \"${documents_to_header}\" \"\${documents}/libformat/glassine.h\" SYMBOLIC)
  file(CREATE_LINK \"${documents_to_kit}\" \"\${documents}/testvectors\" SYMBOLIC)")

set(CPACK_PACKAGE_NAME glassine)
set(CPACK_PACKAGE_VENDOR "The glassine project")
set(CPACK_PACKAGE_CONTACT "The glassine project <glassine@example.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "archive format for collectors who plate stamps: library and program")
set(CPACK_PACKAGE_DESCRIPTION "One file keeps the records of a collection, its scans, what was observed on them,
and who claims which position on the printing plate. It is sent, answered,
merged, compared and audited, and nothing said in it is lost.
This package holds the program, the library with what programs need to link it,
the specification of the format and its conformance kit.")
set(CPACK_PACKAGE_FILE_NAME glassine-${PROJECT_VERSION}-${CMAKE_SYSTEM_NAME}-${CMAKE_SYSTEM_PROCESSOR})
set(CPACK_RESOURCE_FILE_LICENSE ${PROJECT_SOURCE_DIR}/LICENSE)
set(CPACK_STRIP_FILES ON)
set(CPACK_GENERATOR DEB TGZ)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION misc)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS ON)
# dpkg-shlibdeps sees what is linked; what is loaded later is in packages too.
find_program(DPKG dpkg)
set(late_packages)
foreach(library IN LISTS GLASSINE_LATE_LOADED)
  file(REAL_PATH ${library} file)
  set(told)
  if(DPKG AND NOT CMAKE_CROSSCOMPILING)
    execute_process(COMMAND ${DPKG} -S ${file} OUTPUT_VARIABLE told ERROR_QUIET)
  endif()
  if(told MATCHES "^([a-z0-9.+-]+)(:[a-z0-9]+)?: ")
    list(APPEND late_packages ${CMAKE_MATCH_1})
  endif()
endforeach()
list(JOIN late_packages ", " CPACK_DEBIAN_PACKAGE_DEPENDS)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS shared-mime-info)
set(CPACK_SOURCE_GENERATOR TGZ)
set(CPACK_SOURCE_PACKAGE_FILE_NAME glassine-${PROJECT_VERSION})
set(CPACK_SOURCE_IGNORE_FILES "/[.]git/" "^${PROJECT_SOURCE_DIR}/build[-/]" "/node_modules/" "/__pycache__/" "/demo-result/")
include(CPack)
