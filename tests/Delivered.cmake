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
