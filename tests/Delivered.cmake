# What others get: the library's exports, the manual pages, the completion, the desktop's files.
if(Python3_FOUND AND CMAKE_NM AND CMAKE_SYSTEM_NAME STREQUAL "Linux")
  add_test(NAME structure/exports
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/structure/check_exports.py
      $<TARGET_FILE:glassine_shared> ${CMAKE_NM})
endif()

find_program(GROFF groff)
if(GROFF AND TARGET glassine_program)
  add_test(NAME cli/manual_pages
    COMMAND sh ${CMAKE_CURRENT_SOURCE_DIR}/structure/check_manual.sh $<TARGET_FILE:glassine_program> ${GROFF})
endif()

find_program(BASH_PROGRAM bash)
if(Python3_FOUND AND BASH_PROGRAM AND TARGET glassine_program)
  add_test(NAME cli/completion
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/completion/check_completion.py
      $<TARGET_FILE:glassine_program>)
endif()

# The conformance kit, complete as its manifest says, and run by the second reader.
if(Python3_FOUND)
  add_test(NAME vectors/manifest
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/vectors/make_manifest.py --check)
  add_test(NAME vectors/second_reader
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/second-reader/run_kit.py)
endif()

# The README and the tutorials, as they stand. Those that link the library do so against an installation.
if(Python3_FOUND AND TARGET glassine_program)
  set(pages README.md)
  foreach(page collector spreadsheet safe correspondent study-group reading)
    list(APPEND pages docs/${page}.md)
  endforeach()
  list(TRANSFORM pages PREPEND ${PROJECT_SOURCE_DIR}/)
  add_test(NAME docs/pages
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_docs.py
      --program $<TARGET_FILE:glassine_program> --engraver $<TARGET_FILE:glassine_engraver> ${pages})
  if(CMAKE_SYSTEM_NAME STREQUAL "Linux" AND NOT GLASSINE_SANITIZE AND NOT CMAKE_CROSSCOMPILING)
    add_test(NAME docs/linking
      COMMAND sh ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_installed.sh ${PROJECT_BINARY_DIR} ${CMAKE_INSTALL_LIBDIR}
        ${PROJECT_SOURCE_DIR}/docs/linking.md)
  endif()
endif()
