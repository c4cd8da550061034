# glassine_known: the program with known numbers for random ones.
get_target_property(program_sources glassine_program SOURCES)
list(TRANSFORM program_sources PREPEND ${PROJECT_SOURCE_DIR}/ REGEX "^[^/]")
add_executable(glassine_known ${CMAKE_CURRENT_LIST_DIR}/known_random.c ${program_sources})
get_target_property(program_libraries glassine_program LINK_LIBRARIES)
target_link_libraries(glassine_known PRIVATE ${program_libraries})
target_include_directories(glassine_known PRIVATE ${PROJECT_SOURCE_DIR}/cli)
target_compile_definitions(glassine_known PRIVATE GLASSINE_VERSION_TEXT="${PROJECT_VERSION}")
target_link_options(glassine_known PRIVATE -Wl,--wrap=gl_platform_random)
