include(CheckCCompilerFlag)

# What others get: the library's exports, the manual pages, the completion, the desktop's files.
if(Python3_FOUND AND CMAKE_NM AND CMAKE_SYSTEM_NAME STREQUAL "Linux")
  add_test(NAME structure/exports
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/structure/check_exports.py
      $<TARGET_FILE:glassine_shared> ${CMAKE_NM})
endif()

if(Python3_FOUND AND CMAKE_READELF AND GLASSINE_LATE_FILES AND TARGET glassine_program)
  add_test(NAME cli/late
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/cli/late.py $<TARGET_FILE:glassine_program>
      $<TARGET_FILE:glassine_shared> ${CMAKE_READELF} ${GLASSINE_LATE_FILES})
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
  add_test(NAME docs/specification_examples
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_spec.py --program $<TARGET_FILE:glassine_program>)
  add_test(NAME docs/examples
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_examples.py $<TARGET_FILE:glassine_program>)
  add_test(NAME docs/pages
    COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_docs.py
      --program $<TARGET_FILE:glassine_program> --engraver $<TARGET_FILE:glassine_engraver> ${pages})
  if(CMAKE_SYSTEM_NAME STREQUAL "Linux" AND NOT GLASSINE_SANITIZE AND NOT CMAKE_CROSSCOMPILING)
    add_test(NAME docs/linking
      COMMAND sh ${CMAKE_CURRENT_SOURCE_DIR}/docs/run_installed.sh ${PROJECT_BINARY_DIR} ${CMAKE_INSTALL_LIBDIR}
        ${PROJECT_SOURCE_DIR}/docs/linking.md)
  endif()
endif()

# The program with known numbers for random ones: two builds, whatever the machine, must write the same bytes.
if(TARGET glassine_program)
  include(${CMAKE_CURRENT_SOURCE_DIR}/portable/Known.cmake)
  if(Python3_FOUND)
    add_test(NAME portable/same_bytes_twice
      COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/portable/same_bytes.py --life-only
        --program $<TARGET_FILE:glassine_known> --against $<TARGET_FILE:glassine_known>)
    # The model that a soak is held against (scripts/soak) finds a program out that forgets.
    add_test(NAME soak/prove
      COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/soak/soak.py --prove --seed 1
        --program $<TARGET_FILE:glassine_known>)
    # 200 damaged files, and what must come out of them by an independent count.
    add_test(NAME interop/recover
      COMMAND ${Python3_EXECUTABLE} ${CMAKE_CURRENT_SOURCE_DIR}/interop/recover.py
        --program $<TARGET_FILE:glassine_known>)
  endif()
endif()

# Different handles in different threads: the library once more, under ThreadSanitizer.
set(CMAKE_REQUIRED_FLAGS "-fsanitize=thread")
check_c_compiler_flag("-fsanitize=thread" GLASSINE_CAN_WATCH_THREADS)
unset(CMAKE_REQUIRED_FLAGS)
if(GLASSINE_CAN_WATCH_THREADS AND NOT GLASSINE_SANITIZE AND NOT CMAKE_CROSSCOMPILING)
  set(watched)
  foreach(layer IN LISTS GLASSINE_LAYERS)
    file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/libformat/${layer}/*.c)
    list(APPEND watched ${sources})
  endforeach()
  add_executable(threads threads/threads.c ${watched})
  target_include_directories(threads PRIVATE ${PROJECT_SOURCE_DIR}/libformat)
  target_compile_definitions(threads PRIVATE GLASSINE_BUILD GLASSINE_VERSION_TEXT="${PROJECT_VERSION}")
  target_compile_options(threads PRIVATE -fsanitize=thread)
  target_link_options(threads PRIVATE -fsanitize=thread)
  target_link_libraries(threads PRIVATE glassine_warnings glassine_dependencies)
  add_test(NAME threads COMMAND threads)
  set_tests_properties(threads PROPERTIES ENVIRONMENT "TSAN_OPTIONS=halt_on_error=1")
endif()

# The pages on the library's interface, made of its header: everything in it is documented, and nothing wrongly.
find_program(DOXYGEN doxygen)
if(DOXYGEN AND Python3_FOUND)
  configure_file(${PROJECT_SOURCE_DIR}/packaging/Doxyfile.in ${PROJECT_BINARY_DIR}/Doxyfile @ONLY)
  add_test(NAME docs/interface COMMAND ${DOXYGEN} ${PROJECT_BINARY_DIR}/Doxyfile)
endif()

# The specification reads as one document: every page in its place, every link leads somewhere.
find_program(CMARK cmark-gfm)
if(CMARK AND Python3_FOUND)
  add_test(NAME docs/specification
    COMMAND ${Python3_EXECUTABLE} ${PROJECT_SOURCE_DIR}/scripts/lib/spec_page.py ${PROJECT_BINARY_DIR}/glassine-1.0.html)
endif()

# Memory runs out at every allocation (the allocator stands in for the whole process's: of glibc only); the system
# fails at every call.
set(faults operations scene system)
list(TRANSFORM faults REPLACE "(.+)" "faults/\\1.c")
include(CheckFunctionExists)
check_function_exists(__libc_malloc GLASSINE_CAN_REPLACE_MALLOC)
if(TARGET glassine_converters AND NOT CMAKE_CROSSCOMPILING)
  add_executable(calls faults/calls.c ${faults})
  set(failing calls)
  if(GLASSINE_CAN_REPLACE_MALLOC)
    add_executable(memory faults/memory.c faults/allocator.c ${faults})
    list(APPEND failing memory)
  endif()
  foreach(name IN LISTS failing)
    target_include_directories(${name} PRIVATE ${PROJECT_SOURCE_DIR}/libformat)
    target_link_libraries(${name} PRIVATE
      glassine_converters glassine_static glassine_dependencies glassine_warnings TIFF::TIFF)
    target_link_options(${name} PRIVATE -Wl,--wrap=gl_platform_random -Wl,--wrap=sysconf)
    add_test(NAME faults/${name} COMMAND ${name})
  endforeach()
endif()
