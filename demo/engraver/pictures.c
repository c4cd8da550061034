#include "pictures.h"

#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>

#include "camera.h"

static bool write_jpeg(const char *path, const unsigned char *pixels, int width, int height, int dpi,
                       bool camera) {
    FILE *file = fopen(path, "wb");
    if (!file)
        return false;
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)width;
    jpeg.image_height = (JDIMENSION)height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 95, TRUE);
    jpeg.comp_info[0].h_samp_factor = jpeg.comp_info[0].v_samp_factor = 1; /* colour as fine as line */
    jpeg.density_unit = 1;
    jpeg.X_density = jpeg.Y_density = (UINT16)dpi;
    jpeg.write_JFIF_header = !camera;
    jpeg_start_compress(&jpeg, TRUE);
    if (camera) {
        unsigned char block[CAMERA_BLOCK_MOST];
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, block, (unsigned)camera_block(block, width, height));
    }
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = (JSAMPROW)(uintptr_t)(pixels + (size_t)jpeg.next_scanline * (size_t)width * 3);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return fclose(file) == 0;
}

static bool write_png(const char *path, const unsigned char *pixels, int width, int height, int dpi) {
    FILE *file = fopen(path, "wb");
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png ? png_create_info_struct(png) : NULL;
    bool done = false;
    if (file && info && !setjmp(png_jmpbuf(png))) {
        png_init_io(png, file);
        png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8, PNG_COLOR_TYPE_RGB,
                     PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
        png_uint_32 per_metre = (png_uint_32)((double)dpi / 0.0254 + 0.5);
        png_set_pHYs(png, info, per_metre, per_metre, PNG_RESOLUTION_METER);
        png_set_compression_level(png, 3);
        png_set_filter(png, 0, PNG_FILTER_SUB);
        png_write_info(png, info);
        for (int row = 0; row < height; row++)
            png_write_row(png, pixels + (size_t)row * (size_t)width * 3);
        png_write_end(png, info);
        done = true;
    }
    png_destroy_write_struct(&png, &info);
    return file && fclose(file) == 0 && done;
}

static bool write_tiff(const char *path, const unsigned char *pixels, int width, int height, int dpi) {
    TIFF *tiff = TIFFOpen(path, "w");
    if (!tiff)
        return false;
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)height);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_LZW);
    TIFFSetField(tiff, TIFFTAG_PREDICTOR, PREDICTOR_HORIZONTAL);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 64);
    TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
    TIFFSetField(tiff, TIFFTAG_XRESOLUTION, (double)dpi);
    TIFFSetField(tiff, TIFFTAG_YRESOLUTION, (double)dpi);
    bool done = true;
    for (int row = 0; done && row < height; row++)
        done = TIFFWriteScanline(tiff, (void *)(uintptr_t)(pixels + (size_t)row * (size_t)width * 3),
                                 (uint32_t)row, 0) >= 0;
    TIFFClose(tiff);
    return done;
}

bool picture_write(const char *path, scan_kind kind, const unsigned char *pixels, int width, int height,
                   int dpi, bool camera) {
    switch (kind) {
    case AS_JPEG:
        return write_jpeg(path, pixels, width, height, dpi, camera);
    case AS_PNG:
        return write_png(path, pixels, width, height, dpi);
    case AS_TIFF:
        return write_tiff(path, pixels, width, height, dpi);
    }
    return false;
}
