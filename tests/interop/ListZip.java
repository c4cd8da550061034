import java.io.InputStream;
import java.util.Collections;
import java.util.zip.CRC32;
import java.util.zip.ZipEntry;
import java.util.zip.ZipFile;

/** Reads every entry of each file given with java.util.zip.ZipFile: "FILE", then one "NAME SIZE CRC" a line. */
public class ListZip {
    public static void main(String[] files) throws Exception {
        for (String file : files) {
            System.out.println(file);
            try (ZipFile zip = new ZipFile(file)) {
                for (ZipEntry entry : Collections.list(zip.entries())) {
                    CRC32 crc = new CRC32();
                    long size = 0;
                    byte[] piece = new byte[65536];
                    try (InputStream in = zip.getInputStream(entry)) {
                        for (int got; (got = in.read(piece)) > 0; size += got) {
                            crc.update(piece, 0, got);
                        }
                    }
                    if (crc.getValue() != entry.getCrc()) {
                        throw new Exception("CRC of " + entry.getName());
                    }
                    System.out.println(entry.getName() + " " + size + " " + Long.toHexString(crc.getValue()));
                }
            }
        }
    }
}
