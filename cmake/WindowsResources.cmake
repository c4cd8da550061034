# The resources of the program for Windows, as ${glassine_resources}. GLASSINE_ICON is its icon, an .ico file; without one
# there is none.
set(GLASSINE_ICON "" CACHE FILEPATH "Icon of the program, for Windows")
set(icon)
if(GLASSINE_ICON)
  set(icon "1 ICON \"${GLASSINE_ICON}\"")
endif()
set(glassine_resources ${PROJECT_BINARY_DIR}/resources/glassine.rc)
foreach(part rc manifest)
  configure_file(packaging/windows/glassine.${part}.in ${PROJECT_BINARY_DIR}/resources/glassine.${part} @ONLY)
endforeach()
set_source_files_properties(${glassine_resources} PROPERTIES
  OBJECT_DEPENDS "${PROJECT_BINARY_DIR}/resources/glassine.manifest;${GLASSINE_ICON}")
