# cmake -DBUILD=build-ci -DSCRATCH=folder -P build_and_run.cmake: installs the library, builds yards.cpp on it, runs that.
function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE said ERROR_VARIABLE said)
  if(NOT result EQUAL 0)
    message(FATAL_ERROR "${ARGN}: ${said}")
  endif()
  set(said "${said}" PARENT_SCOPE)
endfunction()

file(REMOVE_RECURSE ${SCRATCH})
run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${SCRATCH}/installed --component geom)
foreach(header buildup_kernel plan_mesh low_spots)
  if(EXISTS ${SCRATCH}/installed/include/moundwright/geom/${header}.h)
    message(FATAL_ERROR "${header}.h is how it is done and is not to be installed")
  endif()
endforeach()
run(${CMAKE_COMMAND} -S ${CMAKE_CURRENT_LIST_DIR} -B ${SCRATCH}/build -DCMAKE_PREFIX_PATH=${SCRATCH}/installed
    -DCMAKE_BUILD_TYPE=Release)
run(${CMAKE_COMMAND} --build ${SCRATCH}/build)
file(WRITE ${SCRATCH}/shots.txt "0 0 100\n0 100 100\n100 0 100\n100 100 100\n")
run(${SCRATCH}/build/yards ${SCRATCH}/shots.txt)
# On level ground a foot under the bed: 22 by 8 by 1 ft of sand; the cover is a frustum of 24 by 10 and 36 by 22 ft, 2 ft
# high by the prismoidal formula, less the sand.
if(NOT said MATCHES "version [0-9.]+\nsand 6\\.5185\ncover 29\\.9259\n")
  message(FATAL_ERROR "the program says ${said}")
endif()
