# Libraries that few commands need, as targets glassine_tiff, glassine_archive, glassine_xlsxwriter. They are named by the
# file that the system's loader looks for and loaded when they are needed (libformat/base/late.h); of them a build takes
# the headers alone. Where one of them is no shared object, or GLASSINE_LATE_LIBRARIES is OFF, all are linked.
set(late_by_default ON)
if(WIN32)
  set(late_by_default OFF)
endif()
option(GLASSINE_LATE_LIBRARIES "Load libtiff, libarchive and libxlsxwriter when they are needed" ${late_by_default})

# Its SONAME; empty where it has none. It is asked of the library itself, which may be another machine's.
function(glassine_soname library out)
  set(told)
  if(CMAKE_READELF AND EXISTS "${library}")
    execute_process(COMMAND ${CMAKE_READELF} -d ${library} OUTPUT_VARIABLE told ERROR_QUIET)
  endif()
  if(told MATCHES "\\(SONAME\\)[^[]*\\[([^]]+)\\]")
    set(${out} ${CMAKE_MATCH_1} PARENT_SCOPE)
  else()
    set(${out} "" PARENT_SCOPE)
  endif()
endfunction()

# The names of targets, of what pkg-config or CMake found, and the libraries themselves.
set(late_names tiff archive xlsxwriter)
set(late_tiff TIFF::TIFF)
set(late_archive PkgConfig::ARCHIVE)
set(late_xlsxwriter PkgConfig::XLSXWRITER)
get_target_property(late_tiff_library TIFF::TIFF LOCATION)
list(GET ARCHIVE_LINK_LIBRARIES 0 late_archive_library)
list(GET XLSXWRITER_LINK_LIBRARIES 0 late_xlsxwriter_library)

set(glassine_late ${GLASSINE_LATE_LIBRARIES})
foreach(name IN LISTS late_names)
  glassine_soname("${late_${name}_library}" late_${name}_file)
  if(NOT late_${name}_file)
    set(glassine_late OFF)
  endif()
endforeach()

# GLASSINE_LATE_LOADED: the libraries that a program does not say itself that it needs; GLASSINE_LATE_FILES: NAME=FILE of
# each, as it is loaded.
set(GLASSINE_LATE_LOADED)
set(GLASSINE_LATE_FILES)
foreach(name IN LISTS late_names)
  add_library(glassine_${name} INTERFACE)
  target_link_libraries(glassine_${name} INTERFACE ${CMAKE_DL_LIBS})
  if(NOT glassine_late)
    target_link_libraries(glassine_${name} INTERFACE ${late_${name}})
    continue()
  endif()
  string(TOUPPER ${name} upper)
  target_include_directories(glassine_${name} SYSTEM INTERFACE
    $<TARGET_PROPERTY:${late_${name}},INTERFACE_INCLUDE_DIRECTORIES>)
  target_compile_definitions(glassine_${name} INTERFACE
    $<TARGET_PROPERTY:${late_${name}},INTERFACE_COMPILE_DEFINITIONS>
    GLASSINE_LATE GLASSINE_LATE_${upper}="${late_${name}_file}")
  list(APPEND GLASSINE_LATE_LOADED ${late_${name}_library})
  list(APPEND GLASSINE_LATE_FILES ${name}=${late_${name}_file})
  # A build finds it where it lies, as if it were linked.
  get_filename_component(folder ${late_${name}_library} DIRECTORY)
  if(NOT folder IN_LIST CMAKE_C_IMPLICIT_LINK_DIRECTORIES AND NOT folder IN_LIST CMAKE_BUILD_RPATH)
    list(APPEND CMAKE_BUILD_RPATH ${folder})
  endif()
endforeach()
